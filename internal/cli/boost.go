package cli

import (
	"context"
	"errors"
	"fmt"
	"io"
	"regexp"
	"strings"

	"github.com/spf13/cobra"

	"bellmouth/internal/check"
	"bellmouth/internal/render"
	"bellmouth/internal/sheet"
)

// boostOptions are the flags of boost.
type boostOptions struct {
	options
	byGear, byPedal   bool
	allowed, asTarget bool
}

func newBoostCmd(s streams) *cobra.Command {
	var o boostOptions
	cmd := &cobra.Command{
		Use:   "boost SPEC",
		Short: "Boost target and boost reached, torque, power and what limits them, over engine speed",
		Long: `boost solves the operating point at each engine speed and prints the boost target, the
boost reached, the limits that bind (the governing one first), torque, power, air, pressure
ratio, shaft speed, EGT, peak pressure and CA50. Where a restrictor rules, it also tells what a
boost target left too high would do to the shaft. Of a naturally aspirated engine it prints MAP
in place of boost, with BMEP, BSFC and lambda and without a turbocharger's figures.

With --by-gear or --by-pedal it prints the tables for the boost control instead: the boost
that tyres and gearbox take in each gear, the wastegate duty that holds it and the road speed,
for which the spec needs car and driveline.gears; the MAP and boost at which the engine gives
the share of its torque that the pedal asks for.

With --allowed it prints the highest boost at which every limit of the spec holds, and what
limits it, whatever the target; --as-target prints that as a line to put into a spec.

Speeds in rpm; boost above the venue's pressure.`,
		Example: "  bellmouth boost examples/hillclimb.yaml --trim capped --rpm 2000:7500:500\n  bellmouth boost examples/hillclimb.yaml --trim open --by-gear --by-pedal",
		Args:    specArg,
		RunE: func(cmd *cobra.Command, args []string) error {
			o.spec = args[0]
			return runBoost(cmd.Context(), s, o)
		},
	}
	cmd.Flags().SortFlags = false
	cmd.Flags().BoolVar(&o.byGear, "by-gear", false, "print the boost that each gear takes instead")
	cmd.Flags().BoolVar(&o.byPedal, "by-pedal", false, "print the boost over pedal position instead")
	cmd.Flags().BoolVar(&o.allowed, "allowed", false, "print the boost that the limits allow instead")
	cmd.Flags().BoolVar(&o.asTarget, "as-target", false, "print that as a target: line for a spec")
	o.flags(cmd, true)
	return cmd
}

func runBoost(ctx context.Context, s streams, o boostOptions) error {
	switch {
	case o.asTarget:
		return runAsTarget(ctx, s, o)
	case o.allowed:
		return o.overSpeed(ctx, s, "boost --allowed", allowedPart)
	case o.byGear && o.byPedal:
		return o.overSpeed(ctx, s, "boost --by-gear", func(r *sheet.Run) (trimPart, error) { return targetsPart(r, true, true) })
	case o.byGear:
		return o.overSpeed(ctx, s, "boost --by-gear", byGearPart)
	case o.byPedal:
		return o.overSpeed(ctx, s, "boost --by-pedal", byPedalPart)
	}
	return o.overSpeed(ctx, s, "boost", boostPart)
}

func boostPart(r *sheet.Run) (p trimPart, err error) {
	findings, err := r.Judge()
	if err != nil {
		return p, err
	}
	p.add(r.Summary(check.Failed(findings)), r.Points())
	p.addIf(r.Closed())
	return p, nil
}

func allowedPart(r *sheet.Run) (p trimPart, err error) {
	p.add(sheet.AllowedBoost(check.Allowed(r.Run)))
	return p, nil
}

// runAsTarget prints the boost allowed as YAML: a line for each trim, with its name in a comment where there are several.
func runAsTarget(ctx context.Context, s streams, o boostOptions) error {
	if o.format != render.TextFormat || o.toDirectory() || !o.pick.IsZero() {
		return errors.New("--as-target is a line of YAML: it has no other format, no tables and no directory")
	}
	_, trims, err := o.load(ctx, s)
	if err != nil {
		return err
	}
	trims, told, err := suited("boost --allowed", trims, needs("boost --allowed")...)
	if err != nil {
		return err
	}
	runs, err := o.solve(ctx, s, "boost", trims)
	if err != nil {
		return err
	}
	var lines strings.Builder
	for _, r := range runs {
		line, ok := check.Allowed(r.Run).AsTarget()
		if !ok {
			told = append(told, called(r.Trim)+": no limit sets a boost at any of these speeds")
			continue
		}
		if len(runs) > 1 {
			fmt.Fprintf(&lines, "# %s\n", called(r.Trim))
		}
		fmt.Fprintf(&lines, "%s\n", line)
	}
	if !o.toStandardOutput() {
		if err := o.mayReplace("boost --as-target", o.output, targetLines.Match); err != nil {
			return err
		}
	}
	if err := ctx.Err(); err != nil {
		return err
	}
	o.warn(s, append(o.told, told...))
	if !o.toStandardOutput() {
		return render.WriteFile(o.output, writing(lines.String()))
	}
	_, err = io.WriteString(s.out, lines.String())
	return err
}

// targetLines matches a file of nothing but such lines.
var targetLines = regexp.MustCompile(`^((# trim .*\n)?target: \{.*\}\n)+$`)

func byGearPart(r *sheet.Run) (trimPart, error)  { return targetsPart(r, true, false) }
func byPedalPart(r *sheet.Run) (trimPart, error) { return targetsPart(r, false, true) }

func targetsPart(r *sheet.Run, byGear, byPedal bool) (p trimPart, err error) {
	t, err := r.Targets()
	if err != nil {
		return p, err
	}
	if byGear {
		ratings, err := t.Ratings()
		if err != nil {
			return p, err
		}
		caps, err := t.ByGear()
		if err != nil {
			return p, err
		}
		p.add(ratings, caps)
	}
	if byPedal {
		p.add(t.ByPedal())
	}
	return p, nil
}

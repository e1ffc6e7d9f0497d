package cli

import (
	"context"
	"fmt"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"bellmouth/internal/check"
	"bellmouth/internal/sheet"
	"bellmouth/internal/spec"
	"bellmouth/internal/table"
)

// What the page says in the place of the cautions of the commands: a line each.
const (
	cautionPage      = "Starting points for a dyno with knock detection. Over-boost and lean running kill engines."
	cautionPageNA    = "Starting points for a dyno with knock detection. Knock and lean running kill engines."
	cautionPageDefer = "Event regulations, local law and an experienced professional's judgement come first."
)

// sheetOptions are the flags of sheet.
type sheetOptions struct {
	options
	full bool
}

func newSheetCmd(s streams) *cobra.Command {
	var o sheetOptions
	cmd := &cobra.Command{
		Use:   "sheet SPEC",
		Short: "The build sheet: one page a trim; with --full everything that the spec has data for",
		Long: `sheet prints one page a trim: what the engine is and the air that it breathes, whether the checks
pass, what is to be done, worst first, and over engine speed what goes into the car: boost target,
boost reached and what limits it, torque, power, spark, lambda, duties, shaft speed, exhaust
temperature and peak pressure.

With --full it prints the tables of every command that the trim has the parts for.

Speeds in rpm. Failed checks are named on standard error too; only "bellmouth check" makes
them its exit status.`,
		Example: "  bellmouth sheet examples/hillclimb.yaml\n  bellmouth sheet examples/hillclimb.yaml --trim capped --units imperial\n  bellmouth sheet examples/club-four.yaml --full --format markdown",
		Args:    specArg,
		RunE: func(cmd *cobra.Command, args []string) error {
			o.spec = args[0]
			o.full = o.full || o.pressure != ""
			return runSheet(cmd.Context(), s, o)
		},
	}
	cmd.Flags().SortFlags = false
	cmd.Flags().BoolVar(&o.full, "full", false, "print the tables of all commands; --pressure asks for it too")
	o.pressureFlag(cmd)
	o.flags(cmd, true)
	return cmd
}

func runSheet(ctx context.Context, s streams, o sheetOptions) error {
	use := "sheet"
	if o.full {
		use = "sheet --full"
	}
	sp, trims, err := o.load(ctx, s)
	if err != nil {
		return err
	}
	runs, err := o.solve(ctx, s, use, trims)
	if err != nil {
		return err
	}
	parts, err := eachRun(ctx, runs, func(r *sheet.Run) (trimPart, error) { return o.sheetPart(sp, r) })
	if err != nil {
		return err
	}
	judged := make([]check.Judged, len(runs))
	for i, r := range runs {
		judged[i] = check.Judged{Findings: parts[i].findings, Waivers: r.Trim.Waivers}
	}
	doc := table.Document{Command: "sheet", Spec: sp.Path}
	switch {
	case o.full:
		doc.Cautions = append(cautions(trims)[:1], cautionSpark, cautionDefer)
	case forced(trims):
		doc.Cautions = []string{cautionPage, cautionPageDefer}
	default:
		doc.Cautions = []string{cautionPageNA, cautionPageDefer}
	}
	var lost []error
	for _, trims := range byVenue(trims) {
		from := len(doc.Tables)
		if o.full {
			doc.Tables = append(append(doc.Tables, sheet.Head(sp, trims)), airTables(sp, trims)...)
			geometry, err := o.geometryTables(sp, trims)
			if err != nil {
				return err
			}
			doc.Tables = append(doc.Tables, geometry...)
		}
		for i, p := range parts[:len(trims)] {
			doc.Tables = append(doc.Tables, p.tables...)
			doc.Warnings = append(doc.Warnings, p.warnings...)
			lost = append(lost, allAtVenue(trims[i], p.lost)...)
		}
		parts = parts[len(trims):]
		if o.full {
			if t, ok := sheet.Defaults(trims); ok {
				doc.Tables = append(doc.Tables, t)
			}
		}
		stamp(doc.Tables[from:], trims[0].VenueName)
	}
	doc.Warnings = append(doc.Warnings, check.Idle(judged)...)
	if err := o.write(ctx, s, doc); err != nil {
		return err
	}
	return unsolved(runs, lost)
}

// sheetPart returns one trim's part of the build sheet: its page, and with --full all that the other commands print of it.
func (o *sheetOptions) sheetPart(sp *spec.Spec, r *sheet.Run) (p trimPart, err error) {
	findings, err := r.Judge()
	if err != nil {
		return p, err
	}
	p.findings = findings
	if failed := check.Failed(findings); len(failed) > 0 {
		p.warnings = append(p.warnings, fmt.Sprintf("%s: %s failed: %s", called(r.Trim), plural(len(failed), "check"), strings.Join(failed, "; ")))
	}
	page, err := r.Page(sp.Name, findings)
	if err != nil {
		return p, err
	}
	p.add(page...)
	if !o.full {
		return p, nil
	}
	suits := func(a ask) bool { return a.part != nil && len(r.Trim.Lacks(a.paths...)) == 0 }
	all := asks()
	for _, a := range all {
		// Where the plane of a command is printed too, it has the command's other tables with it.
		if !suits(a) || slices.ContainsFunc(all, func(other ask) bool { return other.command == a.command+" --plane" && suits(other) }) {
			continue
		}
		more, err := a.part(&o.options, r)
		if err != nil {
			return p, err
		}
		p.lost = append(p.lost, more.lost...)
		for _, t := range more.tables { // some commands share a table
			if !slices.ContainsFunc(p.tables, func(has table.Table) bool { return has.Name == t.Name }) {
				p.add(t)
			}
		}
	}
	p.add(r.Filling(), r.Combustion(), r.Energy(), r.Checks(findings))
	return p, nil
}

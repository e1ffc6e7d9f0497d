package cli

import (
	"context"
	"errors"
	"fmt"

	"github.com/spf13/cobra"

	"bellmouth/internal/sheet"
	"bellmouth/internal/spec"
	"bellmouth/internal/table"
)

// geometryOptions are the flags of geometry.
type geometryOptions struct {
	options
	loads bool
	ratio float64
}

func newGeometryCmd(s streams) *cobra.Command {
	var o geometryOptions
	cmd := &cobra.Command{
		Use:   "geometry SPEC",
		Short: "Displacement, compression, piston speed and acceleration, inlet Mach index, friction",
		Long: `geometry prints what follows from the engine's dimensions alone: volumes, compression ratio,
rod angle, valve curtain areas, and over engine speed the piston's speed and acceleration
(in g of 9.80665 m/s2), the inlet Mach index and what each part takes in friction. Trims that
share them share the tables. Where the spec has them it adds the room between valves and piston,
how far each camshaft may be moved, and the measured clearances against their range.

With --ratio it prints what chamber, piston, deck and gasket, each alone, would have to be for a
compression ratio, for which the spec needs engine.chamber.

With --loads it solves the operating points and prints what follows for rods, pistons, crank pins
and bolts instead: the greatest push, pull and side thrust within the cycle and their crank
angles, the bearing's pressure on its projected area, the worst of all speeds and of the overrun,
and what is left of the clamp of rod bolts and cylinder head.`,
		Example: "  bellmouth geometry examples/hillclimb.yaml --rpm 4000:7500:500\n" +
			"  bellmouth geometry examples/hillclimb.yaml --loads --trim open\n" +
			"  bellmouth geometry examples/club-four.yaml --ratio 12.5",
		Args: specArg,
		RunE: func(cmd *cobra.Command, args []string) error {
			o.spec = args[0]
			if cmd.Flags().Changed("ratio") {
				return runRatio(cmd.Context(), s, o)
			}
			return runGeometry(cmd.Context(), s, o)
		},
	}
	cmd.Flags().SortFlags = false
	cmd.Flags().BoolVar(&o.loads, "loads", false, "print the loads on rods, bearings and bolts instead")
	cmd.Flags().Float64Var(&o.ratio, "ratio", 0, "print what parts of the chamber would give the compression ratio `RC`")
	o.flags(cmd, true)
	return cmd
}

// cautionLoads says what the loads leave out.
const cautionLoads = "The loads are those of rigid parts in the mean cycle at steady speed: fatigue, bending, vibration, over-revving and knock are not in them. " +
	"A rod that fails goes through the block."

func runGeometry(ctx context.Context, s streams, o geometryOptions) error {
	if o.loads {
		return o.overSpeedWith(ctx, s, "geometry --loads", []string{cautionLoads, cautionDefer}, loadsPart)
	}
	sp, trims, err := o.load(ctx, s)
	if err != nil {
		return err
	}
	doc := table.Document{Command: "geometry", Spec: sp.Path}
	for _, trims := range byVenue(trims) {
		tables, err := o.geometryTables(sp, trims)
		if err != nil {
			return err
		}
		doc.Tables = append(doc.Tables, tables...)
	}
	return o.write(ctx, s, doc)
}

// runRatio prints the parts of the chamber for a compression ratio.
func runRatio(ctx context.Context, s streams, o geometryOptions) error {
	const lo, hi = 4, 20 // as the spec takes them
	switch {
	case o.loads:
		return errors.New("--ratio and --loads ask for different tables; want one of them")
	case !(o.ratio >= lo && o.ratio <= hi):
		return fmt.Errorf("--ratio is %v; want %d to %d", o.ratio, lo, hi)
	}
	sp, trims, err := o.load(ctx, s)
	if err != nil {
		return err
	}
	doc := table.Document{Command: "geometry", Spec: sp.Path}
	if trims, doc.Warnings, err = suited("geometry --ratio", trims, "engine.chamber"); err != nil {
		return err
	}
	for _, trims := range byVenue(trims) {
		from := len(doc.Tables)
		for _, x := range shapes(sp, trims) {
			doc.Tables = append(doc.Tables, sheet.PartsForRatio(x.trim, o.ratio, x.name))
		}
		stamp(doc.Tables[from:], trims[0].VenueName)
	}
	return o.write(ctx, s, doc)
}

func loadsPart(r *sheet.Run) (p trimPart, err error) {
	loads, ok, err := r.CrankLoads()
	if err != nil {
		return p, err
	}
	p.addIf(loads, ok)
	for _, optional := range []func() (table.Table, bool){r.WorstLoads, r.RodBolts, r.HeadBolts} {
		p.addIf(optional())
	}
	return p, nil
}

// geometryTables returns the geometry of trims at a venue, once where it is the same in all.
func (o *options) geometryTables(sp *spec.Spec, trims []*spec.Trim) (tables []table.Table, err error) {
	for _, x := range shapes(sp, trims) {
		t, name := x.trim, x.name
		speeds, err := o.speeds(t)
		if err != nil {
			return nil, err
		}
		tables = append(tables, sheet.Geometry(t, name), sheet.PistonMotion(t, speeds, name))
		if parts, apart := sheet.Friction(t, speeds, name); apart {
			tables = append(tables, parts)
		}
		for _, optional := range []func(t *spec.Trim, name string) (table.Table, bool){sheet.PistonToValve, sheet.ShaftsMoved, sheet.Clearances} {
			if more, ok := optional(t, name); ok {
				tables = append(tables, more)
			}
		}
	}
	stamp(tables, trims[0].VenueName)
	return tables, nil
}

// A shape is a trim with the name that its geometry goes by.
type shape struct {
	trim *spec.Trim
	name string
}

// shapes returns the trims at a venue whose geometry is told: one without a name where it is the same in all.
func shapes(sp *spec.Spec, trims []*spec.Trim) (all []shape) {
	if alike(sp, trims[0].VenueName, sheet.SameShape) {
		return []shape{{trims[0], ""}}
	}
	for _, t := range trims {
		all = append(all, shape{t, t.Name})
	}
	return all
}

// alike reports whether all trims of a spec are the same in some respect, at a venue by name or without. It asks the spec and not the trims chosen,
// so that choosing one does not change a table's name.
func alike(s *spec.Spec, venue string, same func(a, b *spec.Trim) bool) bool {
	names := s.Trims()
	first, err := s.TrimAt(names[0], venue)
	if err != nil {
		return false
	}
	for _, name := range names[1:] {
		if t, err := s.TrimAt(name, venue); err != nil || !same(&first, &t) {
			return false
		}
	}
	return true
}

package cli

import (
	"context"

	"github.com/spf13/cobra"

	"bellmouth/internal/sheet"
	"bellmouth/internal/spec"
	"bellmouth/internal/table"
)

func newGeometryCmd(s streams) *cobra.Command {
	var o options
	cmd := &cobra.Command{
		Use:   "geometry SPEC",
		Short: "Displacement, compression, piston speed and acceleration, inlet Mach index, friction",
		Long: `geometry prints what follows from the engine's dimensions alone: volumes, compression ratio,
rod angle, valve curtain areas, and over engine speed the piston's speed and acceleration
(in g of 9.80665 m/s2), the inlet Mach index and what each part takes in friction. Trims that
share them share the tables.`,
		Example: "  bellmouth geometry examples/hillclimb.yaml --rpm 4000:7500:500",
		Args:    specArg,
		RunE: func(cmd *cobra.Command, args []string) error {
			o.spec = args[0]
			return runGeometry(cmd.Context(), s, o)
		},
	}
	o.flags(cmd, true)
	return cmd
}

func runGeometry(ctx context.Context, s streams, o options) error {
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

// geometryTables returns the geometry of trims at a venue, once where it is the same in all.
func (o *options) geometryTables(sp *spec.Spec, trims []*spec.Trim) (tables []table.Table, err error) {
	venue := trims[0].VenueName
	shared := alike(sp, venue, sheet.SameShape)
	for i, t := range trims {
		name := t.Name
		if shared {
			if i > 0 {
				break
			}
			name = ""
		}
		speeds, err := o.speeds(t)
		if err != nil {
			return nil, err
		}
		tables = append(tables, sheet.Geometry(t, name), sheet.PistonMotion(t, speeds, name))
		if parts, apart := sheet.Friction(t, speeds, name); apart {
			tables = append(tables, parts)
		}
	}
	stamp(tables, venue)
	return tables, nil
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

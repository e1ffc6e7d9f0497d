package cli

import (
	"context"

	"github.com/spf13/cobra"

	"bellmouth/internal/sheet"
	"bellmouth/internal/spec"
	"bellmouth/internal/table"
)

func newAirCmd(s streams) *cobra.Command {
	var o options
	cmd := &cobra.Command{
		Use:   "air SPEC",
		Short: "Density, humidity and oxygen of the venue's air, and power corrections",
		Long: `air prints the properties of the venue's air: density by CIPM-2007, vapour pressure, oxygen,
density altitude, speed of sound, and the factors that correct power to SAE J1349, ISO 1585,
DIN 70020 and SAE J607. Trims that share the venue share the table.`,
		Example: "  bellmouth air examples/hillclimb.yaml",
		Args:    specArg,
		RunE: func(cmd *cobra.Command, args []string) error {
			o.spec = args[0]
			return runAir(cmd.Context(), s, o)
		},
	}
	o.flags(cmd, false)
	return cmd
}

func runAir(ctx context.Context, s streams, o options) error {
	sp, trims, err := o.load(ctx, s)
	if err != nil {
		return err
	}
	doc := table.Document{Command: "air", Spec: sp.Path}
	for _, trims := range byVenue(trims) {
		doc.Tables = append(doc.Tables, airTables(sp, trims)...)
	}
	return o.write(ctx, s, doc)
}

// airTables returns the air of trims at a venue, once where it is the same for all.
func airTables(sp *spec.Spec, trims []*spec.Trim) (tables []table.Table) {
	venue := trims[0].VenueName
	if alike(sp, venue, sheet.SameAir) {
		tables = append(tables, sheet.Air(trims[0], ""))
	} else {
		for _, t := range trims {
			tables = append(tables, sheet.Air(t, t.Name))
		}
	}
	stamp(tables, venue)
	return tables
}

package cli

import (
	"context"

	"github.com/spf13/cobra"

	"bellmouth/internal/sheet"
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
		venue, from := trims[0].VenueName, len(doc.Tables)
		if alike(sp, venue, sheet.SameAir) {
			doc.Tables = append(doc.Tables, sheet.Air(trims[0], ""))
		} else {
			for _, t := range trims {
				doc.Tables = append(doc.Tables, sheet.Air(t, t.Name))
			}
		}
		stamp(doc.Tables[from:], venue)
	}
	return o.write(ctx, s, doc)
}

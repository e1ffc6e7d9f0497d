package cli

import (
	"github.com/spf13/cobra"

	"bellmouth/internal/sheet"
	"bellmouth/internal/table"
)

func newFuelCmd(s streams) *cobra.Command {
	var o options
	cmd := &cobra.Command{
		Use:   "fuel SPEC",
		Short: "Fuel flow, injector pulses and duty, staging of two sets, the fuel's properties",
		Long: `fuel prints the fuel that each operating point takes, by mass and by volume, the pulses and
duty of the injectors, how two sets share the fuel, and the properties of the fuel.
Pulses hold the dead time.`,
		Example: "  bellmouth fuel examples/hillclimb.yaml --trim open --rpm 3000:7500:500",
		Args:    specArg,
		RunE: func(_ *cobra.Command, args []string) error {
			o.spec = args[0]
			return runFuel(s, o)
		},
	}
	o.flags(cmd, true)
	return cmd
}

func runFuel(s streams, o options) error {
	return o.overSpeed(s, "fuel", []string{"fuel"}, func(doc *table.Document, r *sheet.Run) error {
		doc.Tables = append(doc.Tables, r.Fuel())
		if t, ok := sheet.InjectorSets(r.Trim); ok {
			doc.Tables = append(doc.Tables, t)
		}
		doc.Tables = append(doc.Tables, sheet.FuelProperties(r.Trim))
		return nil
	})
}

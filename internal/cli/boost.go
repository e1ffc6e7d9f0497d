package cli

import (
	"github.com/spf13/cobra"

	"bellmouth/internal/check"
	"bellmouth/internal/sheet"
	"bellmouth/internal/table"
)

func newBoostCmd(s streams) *cobra.Command {
	var o options
	cmd := &cobra.Command{
		Use:   "boost SPEC",
		Short: "Boost asked for against boost reached, over engine speed, and what limits it",
		Long: `boost solves the operating point at each engine speed and prints the boost asked for, the
boost reached, the limits that bind (the governing one first), torque, power, air, pressure
ratio, shaft speed, exhaust temperature, peak pressure and phasing. Where a restrictor rules,
it also tells what a boost target left too high would do to the shaft.

Speeds in rpm; boost above the venue's pressure.`,
		Example: "  bellmouth boost examples/hillclimb.yaml --trim capped --rpm 2000:7500:500",
		Args:    specArg,
		RunE: func(_ *cobra.Command, args []string) error {
			o.spec = args[0]
			return runBoost(s, o)
		},
	}
	o.flags(cmd, true)
	return cmd
}

func runBoost(s streams, o options) error {
	return o.overSpeed(s, "boost", []string{"compressor"}, func(doc *table.Document, r *sheet.Run) error {
		addBoost(doc, r, check.Failed(r.Judge()))
		return nil
	})
}

// addBoost adds the tables that boost and sheet both have.
func addBoost(doc *table.Document, r *sheet.Run, failed []string) {
	doc.Tables = append(doc.Tables, r.Summary(failed), r.Points())
	if t, ok := r.Shut(); ok {
		doc.Tables = append(doc.Tables, t)
	}
}

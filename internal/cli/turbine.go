package cli

import (
	"context"

	"github.com/spf13/cobra"

	"bellmouth/internal/sheet"
)

func newTurbineCmd(s streams) *cobra.Command {
	var o options
	cmd := &cobra.Command{
		Use:   "turbine SPEC",
		Short: "Turbine inlet pressure, expansion, turbine power, wastegate share and back pressure",
		Long: `turbine prints the exhaust side of each operating point: turbine inlet pressure and EGT,
expansion ratio, turbine power, wastegate share and lift, and the back pressure and temperature
after the turbine.`,
		Example: "  bellmouth turbine examples/hillclimb.yaml --rpm 6500",
		Args:    specArg,
		RunE: func(cmd *cobra.Command, args []string) error {
			o.spec = args[0]
			return runTurbine(cmd.Context(), s, o)
		},
	}
	o.flags(cmd, true)
	return cmd
}

func runTurbine(ctx context.Context, s streams, o options) error {
	return o.overSpeed(ctx, s, "turbine", turbinePart)
}

func turbinePart(r *sheet.Run) (p trimPart, err error) {
	p.add(r.Turbine())
	return p, nil
}

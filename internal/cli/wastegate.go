package cli

import (
	"context"
	"fmt"

	"github.com/spf13/cobra"

	"bellmouth/internal/sheet"
)

func newWastegateCmd(s streams) *cobra.Command {
	var o options
	cmd := &cobra.Command{
		Use:   "wastegate SPEC",
		Short: "Duty that holds the boost, what the actuator has to spare, boost on the spring, creep",
		Long: `wastegate computes, at full load over engine speed, how the actuator holds the boost: lift,
pressures in the ports, the base table of duty for the pulsed valves, what is left to regulate
with, how much boost 1 % of duty moves, and the force to spare; the boost on the spring
and the lowest and highest that the control can hold; the boost that creeps with the valve
wide open and the bore against it; the preload that suits. Where something does not suffice,
it says which side, by how much, and what boost that leads to.

Without wastegate.actuator in the spec only the valve is computed. Speeds in rpm, lift in mm,
forces in N, duty in %; boost above the venue's pressure, port pressures absolute.`,
		Example: "  bellmouth wastegate examples/hillclimb.yaml --trim open --rpm 2500:7500:500",
		Args:    specArg,
		RunE: func(cmd *cobra.Command, args []string) error {
			o.spec = args[0]
			return runWastegate(cmd.Context(), s, o)
		},
	}
	o.flags(cmd, true)
	return cmd
}

func runWastegate(ctx context.Context, s streams, o options) error {
	return o.overSpeed(ctx, s, "wastegate", wastegatePart)
}

func wastegatePart(r *sheet.Run) (p trimPart, err error) {
	g, err := r.Gate()
	if err != nil {
		return p, err
	}
	if !g.HasActuator() {
		p.warnings = []string{fmt.Sprintf("trim %s has no wastegate.actuator: only the valve is computed, no duty", r.Trim.Name)}
		p.add(g.Valve())
		return p, nil
	}
	p.add(g.Control(), g.Range(), g.Valve(), g.Sizing())
	return p, nil
}

package cli

import (
	"context"
	"fmt"
	"slices"

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

With --plane it adds the duty over engine speed and boost, for a boost control's base table:
from the lowest boost that the actuator holds to the highest that the engine reaches, with
what ends it at each speed. Boosts outside are empty and say why.

Without wastegate.actuator in the spec only the valve is computed. Speeds in rpm, lift in mm,
forces in N, duty in %; boost above the venue's pressure, port pressures absolute.`,
		Example: "  bellmouth wastegate examples/hillclimb.yaml --trim open --rpm 2500:7500:500\n" +
			"  bellmouth wastegate examples/hillclimb.yaml --trim open --plane --format csv --grid",
		Args: specArg,
		RunE: func(cmd *cobra.Command, args []string) error {
			o.spec = args[0]
			o.plane = o.plane || o.boost != ""
			return runWastegate(cmd.Context(), s, o)
		},
	}
	cmd.Flags().SortFlags = false
	cmd.Flags().BoolVar(&o.plane, "plane", false, "add the duty over speed and boost, at speeds that lie closer;\n--boost asks for it too")
	cmd.Flags().StringVar(&o.boost, "boost", "", "boosts of the plane: `RANGE` is LO:HI:STEP or one, in bar or as in\n\"8:24:2 psi\" (default what is held)")
	o.flags(cmd, true)
	return cmd
}

func runWastegate(ctx context.Context, s streams, o options) error {
	if o.plane {
		return o.overSpeed(ctx, s, "wastegate --plane", o.dutyPlanePart)
	}
	return o.overSpeed(ctx, s, "wastegate", wastegatePart)
}

func wastegatePart(r *sheet.Run) (p trimPart, err error) {
	g, err := r.Gate()
	if err != nil {
		return p, err
	}
	return gatePart(g), nil
}

// dutyPlanePart is wastegatePart with the duty over engine speed and boost, behind the first table.
func (o *options) dutyPlanePart(r *sheet.Run) (p trimPart, err error) {
	g, err := r.Gate()
	if err != nil {
		return p, err
	}
	p = gatePart(g)
	duties, err := o.duties(g)
	if err != nil {
		return p, err
	}
	p.tables = slices.Insert(p.tables, 1, duties.tables...)
	p.warnings, p.lost = append(p.warnings, duties.warnings...), duties.lost
	return p, nil
}

// gatePart is what wastegate prints of a trim over engine speed.
func gatePart(g *sheet.Gate) (p trimPart) {
	if !g.HasActuator() {
		p.warnings = []string{fmt.Sprintf("trim %s has no wastegate.actuator: only the valve is computed, no duty", g.Run.Trim.Name)}
		p.add(g.Valve())
		return p
	}
	p.add(g.Control(), g.Range(), g.Valve(), g.Sizing())
	return p
}

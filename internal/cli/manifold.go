package cli

import (
	"context"

	"github.com/spf13/cobra"

	"bellmouth/internal/sheet"
	"bellmouth/internal/table"
)

func newManifoldCmd(s streams) *cobra.Command {
	var o options
	cmd := &cobra.Command{
		Use:   "manifold SPEC",
		Short: "Runner tuning, air speeds, how the cylinders share the air and what unevenness costs",
		Long: `manifold prints the engine speeds that the runners are tuned to, as a pipe and as the neck of
the cylinder, and the lengths for peak torque and for the middle of the used band, at the intake
air temperature (IAT) of full load. Then the air's speed in runner, valve, throttle and duct.

With manifold.spread in the spec it prints each cylinder's share of the air, the lambda that it
runs at with one fuel quantity for all, its fuel correction and spark correction, and which
cylinder limits the engine and by what. Then the power that the spread costs with one fuel
quantity and one spark, with fuel by cylinder, and with fuel and spark by cylinder.

Speeds in rpm, lengths in mm, air speeds in m/s.`,
		Example: "  bellmouth manifold examples/hillclimb.yaml --trim capped",
		Args:    specArg,
		RunE: func(cmd *cobra.Command, args []string) error {
			o.spec = args[0]
			return runManifold(cmd.Context(), s, o)
		},
	}
	o.flags(cmd, true)
	return cmd
}

func runManifold(ctx context.Context, s streams, o options) error {
	return o.overSpeed(ctx, s, "manifold", manifoldPart)
}

func manifoldPart(r *sheet.Run) (p trimPart, err error) {
	tables, err := r.Manifold()
	if err != nil {
		return p, err
	}
	air, err := r.ManifoldAir()
	if err != nil {
		return p, err
	}
	p.add(append(tables, air)...)
	for _, build := range []func() (table.Table, bool, error){r.Cylinders, r.SpreadCost} {
		t, ok, err := build()
		if err != nil {
			return p, err
		}
		p.addIf(t, ok)
	}
	return p, nil
}

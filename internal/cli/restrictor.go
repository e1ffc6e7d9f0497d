package cli

import (
	"context"

	"github.com/spf13/cobra"

	"bellmouth/internal/sheet"
)

func newRestrictorCmd(s streams) *cobra.Command {
	var o options
	cmd := &cobra.Command{
		Use:   "restrictor SPEC",
		Short: "Air, power ceiling and choke boost of the inlet restrictor",
		Long: `restrictor prints the most air that the throat passes in the venue's air, the power that this
air can make, the boost at which the engine chokes it at each speed, where it does, and the
pressure that it costs below choke.`,
		Example: "  bellmouth restrictor examples/hillclimb.yaml",
		Args:    specArg,
		RunE: func(cmd *cobra.Command, args []string) error {
			o.spec = args[0]
			return runRestrictor(cmd.Context(), s, o)
		},
	}
	o.flags(cmd, true)
	return cmd
}

func runRestrictor(ctx context.Context, s streams, o options) error {
	return o.overSpeed(ctx, s, "restrictor", restrictorPart)
}

func restrictorPart(r *sheet.Run) (p trimPart, err error) {
	limit, err := r.Restrictor()
	if err != nil {
		return p, err
	}
	loss, err := r.RestrictorLoss()
	if err != nil {
		return p, err
	}
	p.add(limit)
	p.addIf(r.MeasuredRestrictor())
	p.addIf(r.ChokeBoost())
	p.add(loss)
	return p, nil
}

package cli

import (
	"context"
	"sync/atomic"

	"github.com/spf13/cobra"

	"bellmouth/internal/check"
	"bellmouth/internal/sheet"
)

func newCheckCmd(s streams) *cobra.Command {
	var o options
	cmd := &cobra.Command{
		Use:   "check SPEC",
		Short: "Every limit, with its margin and the worst speed; exit status 1 when one is passed",
		Long: `check judges every limit that the spec states or the parts imply: shaft speed, surge and
choke margin, injector duty, cylinder pressure, knock, EGT, gearbox torque, piston speed, and
whether the boost target is reached. Failed checks come first.

The whole range of speeds is judged, not only the speeds of --rpm: between them the worst speed
of every limit is looked for, and a point there that has no solution is named too.

A boost that is not reached because the turbine has not spooled or the restrictor chokes is a
note. A boost target that a limit forbids fails: the boost control would go past the limit.

Exit status: 0 all is well, 1 a check failed, 2 wrong input, 3 a point has no solution.`,
		Example: "  bellmouth check examples/club-four.yaml",
		Args:    specArg,
		RunE: func(cmd *cobra.Command, args []string) error {
			o.spec = args[0]
			return runCheck(cmd.Context(), s, o)
		},
	}
	o.flags(cmd, true)
	return cmd
}

func runCheck(ctx context.Context, s streams, o options) error {
	var failed atomic.Int64
	err := o.overSpeed(ctx, s, "check", func(r *sheet.Run) (p trimPart, err error) {
		findings, err := r.Judge()
		if err != nil {
			return p, err
		}
		failed.Add(int64(len(check.Failed(findings))))
		p.add(r.Checks(findings))
		return p, nil
	})
	if n := int(failed.Load()); err == nil && n > 0 {
		err = &failedError{n}
	}
	return err
}

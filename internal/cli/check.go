package cli

import (
	"context"
	"fmt"

	"github.com/spf13/cobra"

	"bellmouth/internal/check"
	"bellmouth/internal/sheet"
	"bellmouth/internal/table"
)

// checkOptions are the flags of check.
type checkOptions struct {
	options
	strict bool
}

func newCheckCmd(s streams) *cobra.Command {
	var o checkOptions
	cmd := &cobra.Command{
		Use:   "check SPEC",
		Short: "Every limit, with its margin and the worst speed; exit status 1 when one is passed",
		Long: `check judges every limit that the spec states or the parts imply: shaft speed, surge and
choke margin, injector duty, cylinder pressure, knock, EGT, gearbox torque, piston speed, and
whether the boost target is reached. The verdict on each trim comes first, then its checks,
failed ones before the others. In CSV and JSON each check has an id that stays the same, and
says in a sentence what to do about it; "bellmouth explain" lists the ids.

The whole range of speeds is judged, not only the speeds of --rpm: between them the worst speed
of every limit is looked for, and a point there that has no solution is named too.

A boost that is not reached because the turbine has not spooled or the restrictor chokes is a
note. A boost target that a limit forbids fails: the boost control would go past the limit.

A check that the spec's section waivers names is waived, with the reason given there: it does
not fail. A waiver that waives nothing is a warning.

Exit status: 0 all is well, 1 a check failed, or, with --strict, one is noted and not waived,
2 wrong input, 3 a point has no solution.`,
		Example: "  bellmouth check examples/club-four.yaml\n  bellmouth check examples/club-four.yaml --format json --table verdict",
		Args:    specArg,
		RunE: func(cmd *cobra.Command, args []string) error {
			o.spec = args[0]
			return runCheck(cmd.Context(), s, o)
		},
	}
	cmd.Flags().SortFlags = false
	cmd.Flags().BoolVar(&o.strict, "strict", false, "let notes that are not waived fail the trim, and the exit status")
	o.flags(cmd, true)
	return cmd
}

func runCheck(ctx context.Context, s streams, o checkOptions) error {
	sp, trims, err := o.load(ctx, s)
	if err != nil {
		return err
	}
	doc := table.Document{Command: "check", Spec: sp.Path, Cautions: cautions(trims)}
	if trims, doc.Warnings, err = suited("check", trims, needs("check")...); err != nil {
		return err
	}
	runs, err := o.solve(ctx, s, "check", trims)
	if err != nil {
		return err
	}
	found, err := eachRun(ctx, runs, (*sheet.Run).Judge)
	if err != nil {
		return err
	}
	var failed failedError
	verdicts := make([]sheet.TrimVerdict, len(runs))
	judged := make([]check.Judged, len(runs))
	var checks []table.Table
	for i, r := range runs {
		verdicts[i] = sheet.TrimVerdict{Run: r, Tally: check.Count(found[i], r.Forced())}
		failed.count += len(verdicts[i].Failed)
		if o.strict {
			failed.noted += len(verdicts[i].Noted)
		}
		checks = append(checks, r.Checks(found[i]))
		stamp(checks[i:], r.Trim.VenueName)
		judged[i] = check.Judged{Findings: found[i], Waivers: r.Trim.Waivers}
	}
	doc.Warnings = append(doc.Warnings, check.Idle(judged)...)
	doc.Tables = append([]table.Table{sheet.Verdicts(verdicts, o.strict)}, checks...)
	if len(byVenue(trims)) == 1 {
		stamp(doc.Tables[:1], trims[0].VenueName)
	}
	if err := o.write(ctx, s, doc); err != nil {
		return err
	}
	if err := unsolved(runs, nil); err != nil {
		return err
	}
	if failed.count+failed.noted > 0 {
		return &failed
	}
	return nil
}

// A failedError reports checks that failed, and those that are noted where that counts. The document that holds them has been written.
type failedError struct{ count, noted int }

func (e *failedError) Error() string {
	switch {
	case e.noted == 0:
		return plural(e.count, "check") + " failed"
	case e.count == 0:
		return "no check failed; by --strict " + plural(e.noted, "note") + " counted as failed"
	}
	return fmt.Sprintf("%s failed; by --strict %s counted as failed too", plural(e.count, "check"), plural(e.noted, "note"))
}

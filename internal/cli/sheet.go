package cli

import (
	"fmt"
	"strings"

	"github.com/spf13/cobra"

	"bellmouth/internal/check"
	"bellmouth/internal/sheet"
	"bellmouth/internal/table"
)

func newSheetCmd(s streams) *cobra.Command {
	var o options
	cmd := &cobra.Command{
		Use:   "sheet SPEC",
		Short: "The build sheet: everything, trim by trim",
		Long: `sheet prints what the engine gives and what limits it, trim by trim: summary, operating
points, compressor, turbine, combustion, energy, fuel and checks, then what was taken by default.
The tables are those of the single commands.

Speeds in rpm. Failed checks are named on standard error too; only "bellmouth check" makes
them its exit status.`,
		Example: "  bellmouth sheet examples/hillclimb.yaml\n  bellmouth sheet examples/hillclimb.yaml --trim capped --units imperial\n  bellmouth sheet examples/club-four.yaml --format markdown",
		Args:    specArg,
		RunE: func(_ *cobra.Command, args []string) error {
			o.spec = args[0]
			return runSheet(s, o)
		},
	}
	o.flags(cmd, true)
	return cmd
}

func runSheet(s streams, o options) error {
	sp, trims, err := o.load()
	if err != nil {
		return err
	}
	runs, err := o.solve("sheet", trims)
	if err != nil {
		return err
	}
	doc := table.Document{Command: "sheet", Spec: sp.Path, Cautions: cautions()}
	doc.Tables = append(doc.Tables, sheet.Head(sp, trims))
	for _, r := range runs {
		findings := r.Judge()
		failed := check.Failed(findings)
		if len(failed) > 0 {
			doc.Warnings = append(doc.Warnings, fmt.Sprintf("trim %s: %s failed: %s", r.Trim.Name, plural(len(failed), "check"), strings.Join(failed, "; ")))
		}
		addBoost(&doc, r, failed)
		if r.Forced() {
			doc.Tables = append(doc.Tables, r.Compressor(), r.Turbine())
		}
		doc.Tables = append(doc.Tables, r.Filling(), r.Combustion(), r.Energy(), r.Fuel(), r.Checks(findings))
	}
	if t, ok := sheet.Defaults(trims); ok {
		doc.Tables = append(doc.Tables, t)
	}
	if err := o.write(s, doc); err != nil {
		return err
	}
	return unsolved(runs)
}

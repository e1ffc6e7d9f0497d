package cli

import (
	"context"
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
		Short: "The build sheet: full load and checks, trim by trim",
		Long: `sheet prints what the engine gives and what limits it, trim by trim: summary, operating
points, compressor, turbine and wastegate, exhaust, combustion, energy, fuel, spark and supply,
manifold and checks, as far as the spec has them, then what was taken by default. The tables are
those of the single commands at full load; planes over load and parts to choose stay with those.

Speeds in rpm. Failed checks are named on standard error too; only "bellmouth check" makes
them its exit status.`,
		Example: "  bellmouth sheet examples/hillclimb.yaml\n  bellmouth sheet examples/hillclimb.yaml --trim capped --units imperial\n  bellmouth sheet examples/club-four.yaml --format markdown",
		Args:    specArg,
		RunE: func(cmd *cobra.Command, args []string) error {
			o.spec = args[0]
			return runSheet(cmd.Context(), s, o)
		},
	}
	o.flags(cmd, true)
	return cmd
}

func runSheet(ctx context.Context, s streams, o options) error {
	sp, trims, err := o.load(ctx, s)
	if err != nil {
		return err
	}
	runs, err := o.solve(ctx, s, "sheet", trims)
	if err != nil {
		return err
	}
	doc := table.Document{Command: "sheet", Spec: sp.Path, Cautions: cautions()}
	parts, err := eachRun(ctx, runs, trimSheet)
	if err != nil {
		return err
	}
	for _, trims := range byVenue(trims) {
		from := len(doc.Tables)
		doc.Tables = append(doc.Tables, sheet.Head(sp, trims))
		for _, part := range parts[:len(trims)] {
			doc.Tables = append(doc.Tables, part.Tables...)
			doc.Warnings = append(doc.Warnings, part.Warnings...)
		}
		parts = parts[len(trims):]
		if t, ok := sheet.Defaults(trims); ok {
			doc.Tables = append(doc.Tables, t)
		}
		stamp(doc.Tables[from:], trims[0].VenueName)
	}
	if err := o.write(ctx, s, doc); err != nil {
		return err
	}
	return unsolved(runs)
}

// trimSheet returns one trim's part of the build sheet: what the engine does, then what holds the boost, feeds, fires and fills it, then
// the verdicts. Planes, and what takes a command of its own to look into, are left to the commands.
func trimSheet(r *sheet.Run) (table.Document, error) {
	var doc table.Document
	add := func(t table.Table, ok bool) {
		if ok {
			doc.Tables = append(doc.Tables, t)
		}
	}
	findings, err := r.Judge()
	if err != nil {
		return doc, err
	}
	failed := check.Failed(findings)
	if len(failed) > 0 {
		doc.Warnings = append(doc.Warnings, fmt.Sprintf("%s: %s failed: %s", called(r.Trim), plural(len(failed), "check"), strings.Join(failed, "; ")))
	}
	addBoost(&doc, r, failed)
	if r.Forced() {
		doc.Tables = append(doc.Tables, r.Compressor(), r.Turbine())
	}
	held, ok, err := r.HeldGate()
	if err != nil {
		return doc, err
	}
	if ok {
		doc.Tables = append(doc.Tables, held.Duty())
	}
	doc.Tables = append(doc.Tables, r.Filling(), r.Combustion())
	if way, ok := r.WayOut(); ok {
		doc.Tables = append(doc.Tables, way)
	}
	doc.Tables = append(doc.Tables, r.Energy())
	if r.Trim.Ignition != nil {
		spark, err := r.Spark()
		if err != nil {
			return doc, err
		}
		doc.Tables = append(doc.Tables, spark.FullLoad())
		add(r.CoilVoltage())
		add(r.Gap())
	}
	doc.Tables = append(doc.Tables, r.Fuel())
	if r.Trim.Supply != nil {
		add(r.SecondSet())
		add(r.Supply())
		doc.Tables = append(doc.Tables, r.FuelUse())
		sag, _ := r.Sag()
		doc.Tables = append(doc.Tables, sag...)
	}
	if r.Trim.Manifold != nil {
		air, err := r.ManifoldAir()
		if err != nil {
			return doc, err
		}
		cylinders, ok, err := r.Cylinders()
		if err != nil {
			return doc, err
		}
		doc.Tables = append(doc.Tables, air)
		add(cylinders, ok)
	}
	doc.Tables = append(doc.Tables, r.Checks(findings))
	return doc, nil
}

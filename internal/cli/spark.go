package cli

import (
	"context"

	"github.com/spf13/cobra"

	"bellmouth/internal/sheet"
	"bellmouth/internal/spec"
	"bellmouth/internal/table"
)

func newSparkCmd(s streams) *cobra.Command {
	var o options
	cmd := &cobra.Command{
		Use:   "spark SPEC",
		Short: "Spark advance over speed and MAP, the octane for best CA50, coil, plug gap",
		Long: `spark prints the knock-limited spark advance over engine speed and manifold pressure (MAP), which
is what an engine control is given to begin with. It prints what stands behind it, too: CA50, the
octane index that best CA50 needs beside the one that the fuel has, peak pressure and exhaust gas
temperature (EGT).

For full load it adds what a step of octane, charge temperature, compression or lambda changes.
Where the spec has the section ignition, it adds the coil's dwell, current and energy over supply
voltage and speed, and the voltage that the plug's gap needs beside what the coil gives.

Advance in degrees of the crank before firing top dead centre, CA50 after it, speeds in rpm, MAP
absolute.`,
		Example: "  bellmouth spark examples/hillclimb.yaml --trim capped\n" +
			"  bellmouth spark examples/hillclimb.yaml --rpm 2000:7500:500 --pressure 0.4:2.4:0.4\n" +
			"  bellmouth spark examples/hillclimb.yaml --table spark-base-table --format csv --grid",
		Args: specArg,
		RunE: func(cmd *cobra.Command, args []string) error {
			o.spec = args[0]
			return runSpark(cmd.Context(), s, o)
		},
	}
	o.planeFlags(cmd)
	return cmd
}

const cautionSpark = "The spark here is a prediction from the spec: a starting point for a dynamometer with knock detection, not a calibration. " +
	"Knock destroys an engine within seconds; the voltage of an ignition coil injures."

func runSpark(ctx context.Context, s streams, o options) error {
	return o.overSpeedWith(ctx, s, "spark", []string{cautionSpark, cautionDefer}, o.sparkPart)
}

func (o *options) sparkPart(r *sheet.Run) (p trimPart, err error) {
	pressures, err := o.pressures(r)
	if err != nil {
		return p, err
	}
	spark, err := r.Spark()
	if err != nil {
		return p, err
	}
	plane, err := spark.Plane(pressures)
	if err != nil {
		return p, err
	}
	p.add(plane.BaseTable(), spark.FullLoad())
	for _, optional := range []func() (table.Table, bool){plane.WayOut, plane.Effects, plane.CoilVoltage, plane.CoilSpeed, plane.Gap} {
		p.addIf(optional())
	}
	p.add(plane.BurnPlanes())
	if without := lackingIgnition(r.Trim); without != "" {
		p.warnings = []string{"trim " + r.Trim.Name + " has no " + without}
	}
	p.lost = plane.LostCells()
	return p, nil
}

// lackingIgnition names what of the section ignition a trim lacks for the tables about coil and gap, and what is left out for it.
func lackingIgnition(t *spec.Trim) string {
	switch {
	case t.Ignition == nil:
		return "section ignition: the tables of coil and plug gap are left out"
	case t.Ignition.Coil == nil:
		return "ignition.coil: the tables of the coil are left out"
	case t.Ignition.Gap == 0:
		return "ignition.gap: the table of the plug gap is left out"
	}
	return ""
}

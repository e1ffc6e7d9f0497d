package cli

import (
	"context"
	"slices"

	"github.com/spf13/cobra"

	"bellmouth/internal/sheet"
)

func newFuelCmd(s streams) *cobra.Command {
	var o options
	cmd := &cobra.Command{
		Use:   "fuel SPEC",
		Short: "Fuel flow, injector pulses and staging, pumps and line, tank, weak battery",
		Long: `fuel prints the fuel that each operating point takes, by mass and by volume, the pulses and
duty of the injectors, how two sets share the fuel, and where to bring in the second set and
why. Pulses hold the dead time. With --plane it adds pulses, duty and share of each set over
engine speed and manifold pressure up to full load, for an engine control's tables.

Where the spec has them, it follows the fuel from the tank: what pumps, line, filter and
regulator give at full load and what they lose, the worst speed named; litres a minute, litres
a stage or lap, and how long the tank lasts; what a battery that sags from 14 V to 11 V does to
pumps, dead time and duty, and what breaks first; what warmer fuel changes.

Pump flows in L/h, injector flows in cm3/min, pressures in bar: the rail's above the venue's,
the manifold's absolute. Pulses in ms, duty in %.`,
		Example: "  bellmouth fuel examples/hillclimb.yaml --trim open --rpm 3000:7500:500\n" +
			"  bellmouth fuel examples/hillclimb.yaml --trim open --plane --format csv --grid",
		Args: specArg,
		RunE: func(cmd *cobra.Command, args []string) error {
			o.spec = args[0]
			o.plane = o.plane || o.pressure != ""
			return runFuel(cmd.Context(), s, o)
		},
	}
	o.planeFlags(cmd)
	cmd.Flags().BoolVar(&o.plane, "plane", false, "add the injectors over speed and manifold pressure;\n--pressure asks for it too")
	return cmd
}

func runFuel(ctx context.Context, s streams, o options) error {
	if o.plane {
		return o.overSpeed(ctx, s, "fuel --plane", o.fuelPlanePart)
	}
	return o.overSpeed(ctx, s, "fuel", fuelPart)
}

// fuelPlanePart is fuelPart with the injectors over engine speed and manifold pressure, behind the first table.
func (o *options) fuelPlanePart(r *sheet.Run) (trimPart, error) {
	p, err := fuelPart(r)
	if err != nil {
		return p, err
	}
	pressures, err := o.pressures(r)
	if err != nil {
		return p, err
	}
	plane, err := r.Plane(pressures)
	if err != nil {
		return p, err
	}
	p.lost = r.PlaneErrors(&plane)
	if t, ok := r.InjectionPlane(&plane); ok {
		p.tables = slices.Insert(p.tables, 1, t)
	}
	return p, nil
}

func fuelPart(r *sheet.Run) (p trimPart, err error) {
	p.add(r.Fuel())
	p.addIf(r.SecondSet())
	p.addIf(sheet.InjectorSets(r.Trim))
	p.addIf(r.Supply())
	p.add(r.FuelUse())
	sag, _ := r.Sag()
	p.add(sag...)
	p.add(r.FuelTemperature(), sheet.FuelProperties(r.Trim))
	return p, nil
}

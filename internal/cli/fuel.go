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
why. Pulses include the dead time. With --plane it adds pulses, duty and share of each set over
engine speed and MAP up to full load, for an engine control's tables.

Where the spec has them, it follows the fuel from the tank. It tells what pumps, line, filter
and regulator give at full load and what they lose, litres a minute, litres a stage or lap, how
long the tank lasts, and what warmer fuel changes. Where a limit is passed as the battery sags
from 14 V to 11 V, it tells which, at what voltage, and what pumps, dead time and duty do.

Pump flows are in L/h, injector flows in cm3/min, pulses in ms, duty in %. The rail pressure is
in bar above the venue's pressure, MAP in bar absolute.`,
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
	cmd.Flags().BoolVar(&o.plane, "plane", false, "add the injectors over speed and MAP;\n--pressure asks for it too")
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

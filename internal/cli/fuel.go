package cli

import (
	"context"
	"errors"

	"github.com/spf13/cobra"

	"bellmouth/internal/sheet"
	"bellmouth/internal/table"
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
	wants := needs("fuel")
	if o.plane {
		wants = needs("fuel --plane")
	}
	var lost []error // points of the planes
	err := o.overSpeed(ctx, s, "fuel", wants, func(doc *table.Document, r *sheet.Run) error {
		add := func(t table.Table, ok bool) {
			if ok {
				doc.Tables = append(doc.Tables, t)
			}
		}
		add(r.Fuel(), true)
		if o.plane {
			pressures, err := o.pressures(r)
			if err != nil {
				return err
			}
			plane, err := r.Plane(pressures)
			if err != nil {
				return err
			}
			add(r.InjectionPlane(&plane))
			lost = append(lost, allAtVenue(r.Trim, r.PlaneErrors(&plane))...)
		}
		add(r.SecondSet())
		add(sheet.InjectorSets(r.Trim))
		add(r.Supply())
		add(r.FuelUse(), true)
		sag, _ := r.Sag()
		doc.Tables = append(doc.Tables, sag...)
		add(r.FuelTemperature(), true)
		add(sheet.FuelProperties(r.Trim), true)
		return nil
	})
	var full *unsolvedError
	switch {
	case errors.As(err, &full):
		full.points = append(full.points, lost...)
	case err == nil && lost != nil:
		return &unsolvedError{lost}
	}
	return err
}

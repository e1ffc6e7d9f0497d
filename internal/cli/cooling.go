package cli

import (
	"context"
	"errors"
	"fmt"

	"github.com/spf13/cobra"

	"bellmouth/internal/run"
	"bellmouth/internal/sheet"
	"bellmouth/internal/units"
)

// cautionCooling is what cooling says of its own figures.
const cautionCooling = "Radiators in a car get less air than on a test stand, and hot walls boil the coolant first. " +
	"Log the coolant's temperature and pressure; a hot circuit under pressure scalds: open no cap."

// coolingOptions are the flags of cooling.
type coolingOptions struct {
	options
	speed string
}

func newCoolingCmd(s streams) *cobra.Command {
	var o coolingOptions
	cmd := &cobra.Command{
		Use:   "cooling SPEC",
		Short: "Heat to coolant, oil and charge cooler; coolant over road speed; what lasts how long",
		Long: `cooling prints where the fuel's energy goes at full load, by what has to take it; the steady coolant
and oil over road speed, at full load and at the mean load of a stage or lap, with the distance from
boiling; the charge behind its cooler over road speed; and the coolant through the sections of
cooling.duty, with how long each would last.

The heat is that of the operating points. Radiators follow from the heat that they are stated to
pass for each kelvin, by effectiveness and transfer units; air comes by the road speed or the fan,
whichever brings more. The car goes in the gear whose full load gives the coolant most heat.

Heat in kW, temperatures in degC, road speeds in km/h.`,
		Example: "  bellmouth cooling examples/hillclimb.yaml --trim open --venue all\n  bellmouth cooling examples/hillclimb.yaml --trim open --speed 0,15,30,45",
		Args:    specArg,
		RunE: func(cmd *cobra.Command, args []string) error {
			o.spec = args[0]
			return runCooling(cmd.Context(), s, o)
		},
	}
	cmd.Flags().SortFlags = false
	cmd.Flags().StringVar(&o.speed, "speed", "", "road speeds `V,V`, in km/h or with their unit (default 0 km/h up to\nwhat the gears reach)")
	o.flags(cmd, true)
	return cmd
}

func runCooling(ctx context.Context, s streams, o coolingOptions) error {
	speeds, err := parseRoadSpeeds(o.speed)
	if err != nil {
		return err
	}
	return o.overSpeedWith(ctx, s, "cooling", []string{cautionCooling, cautionDefer}, func(r *sheet.Run) (trimPart, error) { return coolingTables(r, speeds) })
}

// coolingPart is what cooling prints without road speeds of its own.
func coolingPart(r *sheet.Run) (trimPart, error) { return coolingTables(r, nil) }

func coolingTables(r *sheet.Run, speeds []float64) (p trimPart, err error) {
	p.add(r.Heat())
	c, err := r.Cooling()
	if errors.Is(err, run.ErrNoHeat) { // the table says why of each point
		return p, nil
	}
	if err != nil {
		return p, err
	}
	facts, err := c.Facts()
	if err != nil {
		return p, err
	}
	road, err := c.ByRoadSpeed(speeds)
	if err != nil {
		return p, err
	}
	p.add(facts, road)
	charge, ok, err := c.ChargeByRoadSpeed(speeds)
	if err != nil {
		return p, err
	}
	p.addIf(charge, ok)
	duty, ok, err := c.DutyTable()
	if err != nil {
		return p, err
	}
	p.addIf(duty, ok)
	return p, nil
}

// fastestRoad is the highest road speed that --speed takes, m/s.
const fastestRoad = 500 / 3.6

// parseRoadSpeeds reads --speed: velocities with commas between, in km/h where they have no unit; nil where the flag is not given.
func parseRoadSpeeds(text string) ([]float64, error) {
	if text == "" {
		return nil, nil
	}
	names, err := listed("--speed", "road speed", text)
	if err != nil {
		return nil, err
	}
	speeds := make([]float64, len(names))
	for i, name := range names {
		withUnit := name
		if _, unit := units.Split(name); unit == "" {
			withUnit += " km/h"
		}
		if speeds[i], err = units.Parse(withUnit, units.RoadSpeed); err != nil {
			return nil, fmt.Errorf("--speed %q: %w", name, err)
		}
		if !(speeds[i] >= 0 && speeds[i] <= fastestRoad) {
			return nil, fmt.Errorf("--speed %s is out of range; want 0 to %.0f km/h", name, fastestRoad*3.6)
		}
	}
	return speeds, nil
}

package cli

import (
	"context"
	"fmt"
	"strings"

	"github.com/spf13/cobra"

	"bellmouth/internal/oil"
	"bellmouth/internal/sheet"
	"bellmouth/internal/units"
)

// cautionOil is what oil says of its own figures.
const cautionOil = "The oil here stands still in a steady corner. Leave room for sloshing, and log the oil pressure: bearings that get air run dry in seconds."

// oilOptions are the flags of oil.
type oilOptions struct {
	options
	g string
}

func newOilCmd(s streams) *cobra.Command {
	var o oilOptions
	cmd := &cobra.Command{
		Use:   "oil SPEC",
		Short: "Oil at the pickup in corners and braking, what the pump gives, pressure and film",
		Long: `oil prints how the oil stands in the sump while the car corners, brakes and accelerates: its height
above the pickup over the acceleration in each direction, the acceleration at which the pickup
uncovers all round, the lowest fill that stays covered up to what the car reaches, and how long the
supply lasts in a sustained corner. What the car reaches is car.grip, or --g.

The surface is a plane normal to apparent gravity, the volume under it is that of the sump's plan
between floor and lid, and a gate round the pickup keeps what it had on the level. Sloshing
overshoots that.

Of a dry sump it prints the same of the tank, where its plan is given, and what the scavenge pumps
bring against what the engine takes.

With the section oil it prints the oil's viscosity in gallery and bearings, what the pump gives over
engine speed, what bearings and jets take, the pressure that comes of it against the one wanted, and
the film in the big ends at the gas force of the cycle's peak.

Accelerations in g of 9.80665 m/s2, volumes in L, heights in mm, films in µm.`,
		Example: "  bellmouth oil examples/hillclimb.yaml --trim open\n  bellmouth oil examples/hillclimb.yaml --trim open --g 0.6",
		Args:    specArg,
		RunE: func(cmd *cobra.Command, args []string) error {
			o.spec = args[0]
			return runOil(cmd.Context(), s, o)
		},
	}
	cmd.Flags().SortFlags = false
	cmd.Flags().StringVar(&o.g, "g", "", "acceleration that the tyres hold, `G` of 9.80665 m/s2 or with its unit,\ninstead of car.grip")
	o.flags(cmd, true)
	return cmd
}

func runOil(ctx context.Context, s streams, o oilOptions) error {
	grip, err := parseGrip(o.g)
	if err != nil {
		return err
	}
	return o.overSpeedWith(ctx, s, "oil", []string{cautionOil, cautionDefer}, func(r *sheet.Run) (trimPart, error) { return oilTables(r, grip) })
}

// oilPart is what oil prints without a grip of its own.
func oilPart(r *sheet.Run) (trimPart, error) { return oilTables(r, 0) }

func oilTables(r *sheet.Run, grip float64) (p trimPart, err error) {
	pan, err := r.Pan(grip)
	if err != nil {
		return p, err
	}
	sump, err := pan.Holds()
	if err != nil {
		return p, err
	}
	p.add(sump)
	if pan.Shaped() {
		cover, err := pan.Cover()
		if err != nil {
			return p, err
		}
		grip, err := pan.ByGrip()
		if err != nil {
			return p, err
		}
		p.add(cover, pan.Directions(), grip)
	}
	scavenge, ok, err := pan.Scavenge()
	if err != nil {
		return p, err
	}
	p.addIf(scavenge, ok)
	if r.Trim.Oil == nil {
		return p, nil
	}
	properties, err := r.OilProperties()
	if err != nil {
		return p, err
	}
	p.add(properties)
	pressure, ok, err := r.OilPressure()
	if err != nil {
		return p, err
	}
	p.addIf(pressure, ok)
	film, err := r.OilFilm()
	if err != nil {
		return p, err
	}
	p.add(film)
	return p, nil
}

// parseGrip reads --g: an acceleration, in g where it has no unit; 0 where the flag is not given.
func parseGrip(text string) (float64, error) {
	const least, most = 0.05, 5 // g
	if text == "" {
		return 0, nil
	}
	withUnit := strings.TrimSpace(text)
	if _, unit := units.Split(withUnit); unit == "" {
		withUnit += " g"
	}
	a, err := units.Parse(withUnit, units.Acceleration)
	if err != nil {
		return 0, fmt.Errorf("--g %q: %w", text, err)
	}
	if !(a >= least*oil.Gravity && a <= most*oil.Gravity) {
		return 0, fmt.Errorf("--g %s is not what tyres hold; want %v to %v g", text, least, most)
	}
	return a, nil
}

package cli

import (
	"context"
	"errors"
	"fmt"
	"strings"

	"github.com/spf13/cobra"

	"bellmouth/internal/run"
	"bellmouth/internal/sheet"
	"bellmouth/internal/units"
)

// placeOptions say where the car drives.
type placeOptions struct {
	surface string
	grade   string
}

func newGearingCmd(s streams) *cobra.Command {
	var o options
	cmd := &cobra.Command{
		Use:   "gearing SPEC",
		Short: "Thrust and grip by gear, when to shift up and down, top speed, run-ups",
		Long: `gearing prints what the car does with the torque that the engine gives at full load: the top speed
and what ends it, the engine speed at which to leave each gear, where the next gear lands, what
waiting for the limiter costs, up to which speed the tyres limit a gear; the time from 0 to
100 km/h, from 60 to 130 km/h and over 400 m; then thrust, acceleration and road speed in each gear
over engine speed.

With turbine.rotor_inertia in the spec it prints what a shift with an ignition cut leaves of the
boost, when it is back, and what lifting costs on top. For each downshift it prints the road speed
above which the wheels would turn the engine faster than its limiter lets it, and by how much the
engine has to come up; with driveline.engine_inertia also how long that takes with the throttle
open, and which torque, manifold pressure and throttle do it within driveline.shift.down_time.

An upshift is the best that loses least over a common distance. The time without thrust and the
torque lost to it count: driveline.shift in the spec says both.

--surface takes grip and rolling resistance of one of the spec's surfaces, in the place of the
car's own; --grade lets the road rise.

Which gears win is told by compare, with the upshifts and run-ups of each set beside each other:

  compare SPEC --vary "driveline.final=3.8|4.1|4.4"
  compare SPEC --vary "driveline.gears={1: 2.9, 2: 2.1, 3: 1.6}|{1: 2.9, 2: 2.2, 3: 1.8}"

Speeds in rpm, thrust in N, acceleration in g.`,
		Example: "  bellmouth gearing examples/hillclimb.yaml --trim capped\n" +
			"  bellmouth gearing examples/hillclimb.yaml --trim capped --surface gravel --grade 8",
		Args: specArg,
		RunE: func(cmd *cobra.Command, args []string) error {
			o.spec = args[0]
			return runGearing(cmd.Context(), s, o)
		},
	}
	cmd.Flags().SortFlags = false
	cmd.Flags().StringVar(&o.place.surface, "surface", "", "drive on the spec's surface `NAME` (default: the car's own grip)")
	cmd.Flags().StringVar(&o.place.grade, "grade", "", "let the road rise by `PERCENT` of its run, fall below 0 (default 0)")
	o.flags(cmd, true)
	return cmd
}

func runGearing(ctx context.Context, s streams, o options) error {
	if _, err := o.place.read(); err != nil {
		return err
	}
	return o.overSpeed(ctx, s, "gearing", o.drivePart)
}

// steepest is the steepest grade that --grade takes, rise over run: no road is as steep.
const steepest = 0.5

// read returns the place that the flags say.
func (o placeOptions) read() (run.Place, error) {
	at := run.Place{Surface: strings.TrimSpace(o.surface)}
	if o.grade == "" {
		return at, nil
	}
	text := strings.TrimSpace(o.grade)
	if _, unit := units.Split(text); unit == "" {
		text += " %"
	}
	grade, err := units.Parse(text, units.Fraction)
	if err != nil {
		return at, fmt.Errorf("--grade %q: %w", o.grade, err)
	}
	if !(grade >= -steepest && grade <= steepest) {
		return at, fmt.Errorf("--grade %s is out of range; want %.0f to %.0f %%", o.grade, -100*steepest, 100*steepest)
	}
	at.Grade = grade
	return at, nil
}

// gearingPart is drivePart on the build sheet, which goes without where the speeds asked for are too few.
func (o *options) gearingPart(r *sheet.Run) (trimPart, error) {
	p, err := o.drivePart(r)
	if errors.Is(err, run.ErrTooFewSpeeds) {
		return trimPart{warnings: []string{err.Error()}}, nil
	}
	return p, err
}

func (o *options) drivePart(r *sheet.Run) (p trimPart, err error) {
	at, err := o.place.read()
	if err != nil {
		return p, err
	}
	d, err := r.Drive(at)
	if err != nil {
		return p, err
	}
	thrust, err := d.Thrust()
	if err != nil {
		return p, err
	}
	p.add(d.OnTheRoad(), d.UpshiftTable())
	p.addIf(d.ShiftCut())
	downshifts, some, err := d.DownshiftTable()
	if err != nil {
		return p, err
	}
	p.addIf(downshifts, some)
	p.add(d.RunUpTable(), thrust)
	return p, nil
}

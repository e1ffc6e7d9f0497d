package cli

import (
	"errors"

	"github.com/spf13/cobra"

	"bellmouth/internal/run"
	"bellmouth/internal/sheet"
	"bellmouth/internal/table"
)

// cautionCourse is what course says of its own figures.
const cautionCourse = "The speeds here are what ideal tyres, brakes and a perfect line would allow on a road that is closed to all others. " +
	"Nobody should try to drive by them."

func newCourseCmd(s streams) *cobra.Command {
	var o options
	cmd := &cobra.Command{
		Use:   "course SPEC",
		Short: "Time over a course, what limits the car where, what a change is worth",
		Long: `course drives the car over the course of the spec, a hill or a lap, with the torque that the engine
gives at full load: the time, the highest and lowest speed, the fuel, what goes into the brakes;
what limits the car for how long and the time in each gear; the course in parts of 250 m and the
corners that hold the car back; what 10 kW, 10 kg, another final drive and more grip are worth; of
several trims, their times side by side.

course.file names a CSV file beside the spec, a row for each place where the road changes:

  distance [m], radius [m], allowed speed [km/h], grade [%], surface, bank [%]
  0, , , 4, ,
  120, 45, , 5, , 2
  155, , , 6, tarmac-wet,

What a row says holds up to the next; the last is the finish. No radius is a straight, one below 0
turns left. Of radius and allowed speed one column is enough, and the lower speed rules. A surface
is one of the spec's surfaces, else the car's own grip; bank falls to the inside of the corner.

The car is at every place as fast as engine, tyres and brakes let it be: side force and thrust share
the grip of the tyres, all wheels brake at their grip, and boost is there at once. Take differences
rather than the time itself.`,
		Example: "  bellmouth course examples/hillclimb.yaml\n" +
			"  bellmouth course examples/club-four.yaml --trim free --set car.grip=1.1",
		Args: specArg,
		RunE: func(cmd *cobra.Command, args []string) error {
			o.spec = args[0]
			return o.overSpeedThen(cmd.Context(), s, "course", []string{cautionCourse, cautionDefer}, coursePart, byTrim)
		},
	}
	o.flags(cmd, true)
	return cmd
}

// stagePart is coursePart on the build sheet, which goes without where the speeds asked for are too few.
func stagePart(r *sheet.Run) (trimPart, error) {
	p, err := coursePart(r)
	if errors.Is(err, run.ErrTooFewSpeeds) {
		return trimPart{warnings: []string{err.Error()}}, nil
	}
	return p, err
}

// coursePart is what course prints of one trim.
func coursePart(r *sheet.Run) (p trimPart, err error) {
	c, err := r.Course()
	if err != nil {
		return p, err
	}
	p.course = c
	p.add(c.Stage())
	if c.Err != nil {
		return p, nil
	}
	p.add(c.Shares())
	p.addIf(c.Corners())
	p.add(c.Sections(), c.Worth())
	return p, nil
}

// byTrim compares the stage times of trims.
func byTrim(parts []trimPart) []table.Table {
	var courses []*sheet.Course
	for _, p := range parts {
		if p.course != nil {
			courses = append(courses, p.course)
		}
	}
	if t, ok := sheet.ByTrim(courses); ok {
		return []table.Table{t}
	}
	return nil
}

package spec

import (
	"fmt"
	"math"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"bellmouth/internal/course"
	"bellmouth/internal/gearing"
)

// road is a small course, invented; its stations are lines 2 to 5.
const road = `distance [m], radius [m], allowed speed [km/h], grade [%], surface, bank [%]
0, , , 4, ,
120, 45, 72, 5, wet, 2
155, -80, , -6.5, ,
400, inf, , 0, ,
`

// courseOf returns the course of a spec with a car, surfaces and a course file.
func courseOf(t testing.TB, more, file string) (*Course, error) {
	t.Helper()
	text := engine + line + "car: {" + someCar + ", rolling_radius: 0.3 m}\n" + more
	s, err := Read("cars/a.yaml", []byte(text), func(path string) ([]byte, error) {
		assert.Equal(t, "cars/hill.csv", path)
		return []byte(file), nil
	})
	if err != nil {
		return nil, err
	}
	trim, err := s.Trim(s.Trims()[0])
	require.NoError(t, err)
	return trim.Course, nil
}

const onHill = "surfaces: {grip: {wet: 0.6, gravel: 0.5}, rolling_resistance: {gravel: 0.03, wet: 0.02}}\ncourse: {file: hill.csv}\n"

func TestCourse(t *testing.T) {
	c, err := courseOf(t, onHill, road)
	require.NoError(t, err)
	assert.Equal(t, "hill", c.Name)
	assert.False(t, c.Flying)
	own := gearing.Road{Grip: 1.2, Rolling: 0.013}
	want := []course.Station{
		{Road: gearing.Road{Grip: own.Grip, Rolling: own.Rolling, Grade: 0.04}},
		{Distance: 120, Curvature: 1.0 / 45, Allowed: 20, Bank: 0.02, Road: gearing.Road{Grip: 0.6, Rolling: 0.02, Grade: 0.05}},
		{Distance: 155, Curvature: -1.0 / 80, Road: gearing.Road{Grip: own.Grip, Rolling: own.Rolling, Grade: -0.065}},
		{Distance: 400, Road: own},
	}
	require.Len(t, c.Stations, len(want))
	for i := range want {
		got := c.Stations[i]
		for k, pair := range [][2]float64{
			{want[i].Distance, got.Distance}, {want[i].Curvature, got.Curvature}, {want[i].Allowed, got.Allowed}, {want[i].Bank, got.Bank},
			{want[i].Grip, got.Grip}, {want[i].Rolling, got.Rolling}, {want[i].Grade, got.Grade},
		} {
			assert.InDelta(t, pair[0], pair[1], 1e-12, "station %d, figure %d", i, k)
		}
	}
	// A byte order mark, line ends of Windows and of old, other units, order and words for a straight: the same course.
	other := "Surface, Grade [%], Distance [km], RADIUS [ft], bank [%], allowed_speed [m/s]\n, 4, 0, straight, , \nwet, 5, 0.12, 147.637795275590551, 2, 20\n" +
		"# a comment\n\n, -6.5, 0.155, -262.467191601049868, , \n, 0, 0.4, -, 0, \n"
	for _, text := range []string{"\ufeff" + road, strings.ReplaceAll(road, "\n", "\r\n"), strings.ReplaceAll(road, "\n", "\r"), other} {
		again, err := courseOf(t, onHill, text)
		require.NoError(t, err)
		for i := range c.Stations {
			assert.InDelta(t, c.Stations[i].Distance, again.Stations[i].Distance, 1e-9)
			assert.InDelta(t, c.Stations[i].Curvature, again.Stations[i].Curvature, 1e-12)
			assert.InDelta(t, c.Stations[i].Allowed, again.Stations[i].Allowed, 1e-12)
			assert.Equal(t, c.Stations[i].Road, again.Stations[i].Road)
		}
	}
	// One column for the corners is enough, and grade, surface and bank may be missing.
	c, err = courseOf(t, "course: {file: hill.csv, name: lap, start: flying}\n", "distance [m],allowed speed [mph]\n0,\n100,60\n200,\n")
	require.NoError(t, err)
	assert.True(t, c.Flying)
	assert.Equal(t, "lap", c.Name)
	assert.InDelta(t, 60*1609.344/3600, c.Stations[1].Allowed, 1e-9)
	assert.Equal(t, own, c.Stations[1].Road)
}

func TestCourseMessages(t *testing.T) {
	replaced := func(from, to string) string { return strings.Replace(road, from, to, 1) }
	const header = "want a header such as distance [m], radius [m], allowed speed [km/h], grade [%], surface, bank [%]"
	for _, p := range []struct{ name, text, want string }{
		{"empty", "", "cars/hill.csv: is empty; " + header},
		{"no rows", strings.SplitAfter(road, "\n")[0],
			"cars/hill.csv: has fewer than two rows below the header; want one for the start and one for the finish at least"},
		{"no finish", strings.Join(strings.SplitAfter(road, "\n")[:2], ""), "cars/hill.csv: has fewer than two rows"},
		{"no header", "0, 1, 2\n", "cars/hill.csv:1:1: has numbers where the header belongs; " + header},
		{"no distance", "radius [m]\n4\n", "cars/hill.csv:1:1: has no column distance; " + header},
		{"no corners", "distance [m], grade [%]\n0, 1\n5, 1\n",
			"cars/hill.csv:1:1: has no column radius and none allowed speed; want one of them, with nothing in its cells where the road is straight"},
		{"unknown column", replaced("bank [%]", "camber [%]"), "cars/hill.csv:1:69: has the column camber [%]; " + header},
		{"unit missing", replaced("grade [%]", "grade"), "cars/hill.csv:1:49: has no unit in the column grade; want it in brackets, such as grade [%]"},
		{"unit of another kind", replaced("radius [m]", "radius [kg]"),
			"cars/hill.csv:1:15: has the unit [kg] in the column radius; want one of a length, such as radius [m]"},
		{"unit of words", replaced("surface", "surface [m]"), "cars/hill.csv:1:60: has the unit [m] in the column surface; want none"},
		{"few columns", replaced("120, 45, 72, 5, wet, 2", "120, 45, 72"), "cars/hill.csv:3:1: has 3 columns; want the header's 6"},
		{"start", replaced("0, , , 4", "10, , , 4"), "cars/hill.csv:2:1: distance is 10 in the first row; want 0, the start"},
		{"falls", replaced("155, -80", "115, -80"), "cars/hill.csv:4:1: distance is 115, not above that of the row before; want the distances to rise"},
		{"stays", replaced("155, -80", "120, -80"), "cars/hill.csv:4:1: distance is 120, not above that of the row before; want the distances to rise"},
		{"far", replaced("400, inf", "400000, inf"), "cars/hill.csv:5:1: distance is 400000 m; want 0 m to 100000 m (40000 m?)"},
		{"no distance in a row", replaced("155, -80", ", -80"), "cars/hill.csv:4:1: distance is missing"},
		{"not a number", replaced("155, -80", "NaN, -80"), "cars/hill.csv:4:1: distance is NaN; want a number"},
		{"radius", replaced("45, 72", "tight, 72"), "cars/hill.csv:3:6: radius is tight; want a number"},
		{"no radius", replaced("45, 72", "0, 72"), "cars/hill.csv:3:6: radius is 0; want nothing where the road is straight"},
		{"small radius", replaced("45, 72", "-0.45, 72"), "cars/hill.csv:3:6: radius is -0.45 m; want 2 m to 100000 m (4.5 m?)"},
		{"speed", replaced("45, 72", "45, 7200"), "cars/hill.csv:3:10: allowed speed is 7200 km/h; want 1 km/h to 500 km/h (72 km/h?)"},
		{"unit in a row", replaced("45, 72", "45, 72 km/h"), "cars/hill.csv:3:10: allowed speed is 72 km/h; want a number alone, its unit stands in the header"},
		{"grade", replaced("-6.5", "-65"), "cars/hill.csv:4:13: grade is -65 %; want -50 % to 50 %"},
		{"no grade", replaced("-6.5", ""), "cars/hill.csv:4:13: grade is missing"},
		{"bank", replaced("wet, 2", "wet, 200"), "cars/hill.csv:3:22: bank is 200 %; want -30 % to 30 % (20 %?)"},
		{"surface", replaced("wet", "gravle"), "cars/hill.csv:3:17: surface is gravle, which surfaces.grip does not name; it has wet, gravel; gravel?"},
		{"escape", replaced("wet", "w\u202et"), `cars/hill.csv:3:17: surface is w\u202et, which surfaces.grip`},
		{"several", replaced("45, 72, 5", "x, y, z"), "cars/hill.csv:3:6: radius is x; want a number\n" +
			"cars/hill.csv:3:9: allowed speed is y; want a number\ncars/hill.csv:3:12: grade is z; want a number"},
	} {
		t.Run(p.name, func(t *testing.T) {
			_, err := courseOf(t, onHill, p.text)
			var e *Error
			require.ErrorAs(t, err, &e)
			assert.True(t, strings.HasPrefix(err.Error(), p.want), "got:  %s\nwant: %s", err, p.want)
			assertPrintable(t, err.Error())
			assert.Len(t, e.Problems, 1+strings.Count(p.want, "\n"))
		})
	}
	_, err := courseOf(t, "course: {file: hill.csv}\n", road)
	assert.EqualError(t, err, "cars/hill.csv:3:17: surface is wet, and the spec has no section surfaces")
	// A name that many rows have wrong is told once, and no more problems than anyone reads.
	many := "distance [m], radius [m], surface\n"
	for i := range 500 {
		many += fmt.Sprintf("%d, , snow\n", i)
	}
	_, err = courseOf(t, onHill, many)
	assert.EqualError(t, err, "cars/hill.csv:2:6: surface is snow, which surfaces.grip does not name; it has wet, gravel")
	_, err = courseOf(t, onHill, strings.ReplaceAll(many, ", , snow", ", x, "))
	var e *Error
	require.ErrorAs(t, err, &e)
	assert.Len(t, e.Problems, maxRowProblems)

	text := engine + line + "car: {" + someCar + ", rolling_radius: 0.3 m}\n"
	for _, p := range []struct{ more, want string }{
		{"course: {file: none.csv}\n", "course.file is none.csv; cars/none.csv does not exist"},
		{"course: {start: flying}\n", "course.file is missing; want text, such as course.csv"},
		{"course: {file: hill.csv, start: rolling}\n", "course.start is rolling; want standing or flying"},
	} {
		_, err := Read("cars/a.yaml", []byte(text+p.more), func(string) ([]byte, error) { return nil, fmt.Errorf("does not exist") })
		assert.ErrorContains(t, err, p.want)
	}
}

// A course may be another's in a trim, on that trim's surfaces; it is read once. Without a car there is none.
func TestCourseOfTrims(t *testing.T) {
	text := engine + line + "car: {" + someCar + ", rolling_radius: 0.3 m}\n" + onHill + `trims:
  a: {}
  b: {surfaces: {grip: {wet: 0.5, gravel: 0.5}}}
  c: {course: {start: flying}}
  d: {car: none}
  e: {course: none}
  f: {course: {file: lap.csv}}
`
	opened := map[string]int{}
	s, err := Read("cars/a.yaml", []byte(text), func(path string) ([]byte, error) {
		opened[path]++
		return []byte(map[bool]string{true: road, false: strings.Replace(road, "400", "500", 1)}[path == "cars/hill.csv"]), nil
	})
	require.NoError(t, err)
	assert.Equal(t, map[string]int{"cars/hill.csv": 1, "cars/lap.csv": 1}, opened)
	of := map[string]*Course{}
	var trims []*Trim
	for _, name := range s.Trims() {
		trim, err := s.Trim(name)
		require.NoError(t, err)
		of[name] = trim.Course
		trims = append(trims, &trim)
	}
	assert.InDelta(t, 0.6, of["a"].Stations[1].Grip, 0)
	assert.InDelta(t, 0.5, of["b"].Stations[1].Grip, 0)
	assert.True(t, of["c"].Flying)
	assert.Nil(t, of["d"])
	assert.Nil(t, of["e"])
	assert.InDelta(t, 500, of["f"].Stations[3].Distance, 0)
	assert.Equal(t, []string{"hill.csv"}, trims[0].Files())
	differ := Differing([]*Trim{trims[0], trims[5]})
	require.Len(t, differ, 1)
	assert.Equal(t, "course.file", differ[0].Path)
}

func FuzzCourse(f *testing.F) {
	f.Add([]byte(road))
	f.Add([]byte("distance [km], radius [ft], bank [%]\n0,,\n1,-∞,\n2,9,1\n"))
	f.Fuzz(func(t *testing.T, data []byte) {
		start := time.Now()
		c, err := parseCourse("hill.csv", data)
		if took := time.Since(start); took > 2*time.Second {
			t.Fatalf("takes %v", took)
		}
		if err != nil {
			var e *Error
			require.ErrorAs(t, err, &e)
			require.NotEmpty(t, e.Problems)
			assertPrintable(t, err.Error())
			return
		}
		require.Len(t, c.surfaces, len(c.stations))
		for i := range c.stations {
			c.stations[i].Grip = 1
			require.False(t, math.IsNaN(c.stations[i].Bank))
		}
		require.NoError(t, course.Check(c.stations), "what is read is a course")
	})
}

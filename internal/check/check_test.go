package check_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"bellmouth/internal/airpath"
	"bellmouth/internal/boost"
	"bellmouth/internal/check"
	"bellmouth/internal/injector"
)

const rpm = math.Pi / 30

// The points here are made by hand: what is judged is the judging, not the solution.

// sound returns a point at which nothing is wrong: 1 bar of boost asked for and reached.
func sound(n float64) boost.Outcome {
	o := boost.Outcome{Speed: n * rpm, TargetBoost: 1e5}
	p := &o.Point
	p.Speed, p.TargetPressure, p.ManifoldPressure = o.Speed, 2e5, 2e5
	p.Limits = airpath.LimitSet(0).With(airpath.Target)
	p.ShaftSpeed, p.PeakPressure, p.KnockIntegral, p.CA50 = 10000, 80e5, 0.8, 8*math.Pi/180
	p.Compressor.SurgeMargin, p.Compressor.ChokeMargin = 0.2, 0.2
	p.TurbineInletTemperature, p.Torque = 1200, 400
	p.Injection = injector.Split{Primary: injector.Delivery{Duty: 0.6}, Secondary: injector.Delivery{Duty: 0.3}}
	return o
}

func input(outcomes ...boost.Outcome) check.Input {
	return check.Input{
		Outcomes: outcomes, Venue: 1e5,
		ShaftSpeed: 12000, SurgeMargin: 0.05, Duty: 0.9, PeakPressure: 100e5, KnockIntegral: 1, BestCA50: 8 * math.Pi / 180,
		LatestCA50: 28 * math.Pi / 180, TurbineInlet: 1250, Torque: 500, MeanPistonSpeed: 24, LimiterSpeed: 7000 * rpm, PistonAtLimiter: 22,
		Compressor: true, InjectionPresent: true,
	}
}

// of returns the one finding of a name.
func of(t *testing.T, fs []check.Finding, what string) check.Finding {
	t.Helper()
	var found []check.Finding
	for _, f := range fs {
		if f.What == what {
			found = append(found, f)
		}
	}
	require.Len(t, found, 1, what)
	return found[0]
}

func TestAllWell(t *testing.T) {
	fs := check.Judge(input(sound(3000), sound(6000)))
	assert.Empty(t, check.Failed(fs))
	for _, f := range fs {
		assert.Equal(t, check.OK, f.Verdict, f.What)
		assert.GreaterOrEqual(t, f.Margin(), 0.0, f.What)
	}
	assert.Len(t, fs, 11)
}

// TestEachLimit passes one limit at one speed and wants it named, there, and nothing else.
func TestEachLimit(t *testing.T) {
	for what, spoil := range map[string]func(o *boost.Outcome){
		"turbocharger shaft speed": func(o *boost.Outcome) { o.Point.ShaftSpeed = 12100 },
		"surge margin":             func(o *boost.Outcome) { o.Point.Compressor.SurgeMargin = 0.04 },
		"choke margin":             func(o *boost.Outcome) { o.Point.Compressor.ChokeMargin = -0.01 },
		"injector duty":            func(o *boost.Outcome) { o.Point.Injection.Secondary.Duty = 0.95 },
		"cylinder pressure":        func(o *boost.Outcome) { o.Point.PeakPressure = 101e5 },
		"knock integral":           func(o *boost.Outcome) { o.Point.KnockIntegral = 1.01 },
		"EGT":                      func(o *boost.Outcome) { o.Point.TurbineInletTemperature = 1260 },
		"gearbox torque":           func(o *boost.Outcome) { o.Point.Torque = 510 },
		"CA50":                     func(o *boost.Outcome) { o.Point.CA50 = 30 * math.Pi / 180 },
		"no solution":              func(o *boost.Outcome) { o.Err = &airpath.PointError{Speed: o.Speed, Stage: "turbine", Reason: "none"} },
		"boost above the target: wastegate creep": func(o *boost.Outcome) {
			o.Point.ManifoldPressure, o.Point.Limit = 2.2e5, airpath.Creep
		},
		// The turbine ends it, but what keeps it above is the spring.
		"boost above the target: wastegate spring": func(o *boost.Outcome) {
			o.Point.ManifoldPressure, o.Point.Limit = 2.2e5, airpath.Spool
			o.Point.Limits = airpath.LimitSet(0).With(airpath.Spool).With(airpath.Spring)
		},
		"boost target passes a limit: knock": func(o *boost.Outcome) {
			o.Point.ManifoldPressure, o.Point.Limit = 1.8e5, airpath.Knock
		},
		"shaft speed with the wastegate closed": func(o *boost.Outcome) {
			o.Point.ManifoldPressure, o.Point.Limit = 1.8e5, airpath.Restrictor
			o.Overpull = &airpath.Overpull{ShaftSpeed: 13000, OverSpeed: true}
		},
		"knock limit exceeded: neither a later burn nor the wastegate mends it": func(o *boost.Outcome) { o.Point.Notes = airpath.NoteKnockUnmet },
	} {
		bad := sound(5000)
		spoil(&bad)
		fs := check.Judge(input(sound(3000), bad, sound(6000)))
		assert.Equal(t, []string{what}, check.Failed(fs))
		assert.InDelta(t, 5000*rpm, of(t, fs, what).Speed, 1e-9, what)
	}
	in := input(sound(3000))
	in.PistonAtLimiter = 24.1
	assert.Equal(t, []string{"mean piston speed at the limiter"}, check.Failed(check.Judge(in)))
}

// TestNotesAreNoFailures: what the engine cannot pass by itself is told, and fails nothing.
func TestNotesAreNoFailures(t *testing.T) {
	spool, choked := sound(2000), sound(7000)
	spool.Point.ManifoldPressure, spool.Point.Limit = 1.2e5, airpath.Spool
	choked.Point.ManifoldPressure, choked.Point.Limit = 1.5e5, airpath.Restrictor
	choked.Overpull = &airpath.Overpull{ShaftSpeed: 11000}
	late := sound(4000)
	late.Point.CA50 = 15 * math.Pi / 180
	fs := check.Judge(input(spool, sound(3000), late, choked))
	assert.Empty(t, check.Failed(fs))
	f := of(t, fs, "boost target not reached: turbine")
	assert.Equal(t, check.Note, f.Verdict)
	assert.InDelta(t, -0.8e5, f.Margin(), 1e-6)
	assert.Equal(t, check.Note, of(t, fs, "boost target not reached: restrictor").Verdict)
	assert.Equal(t, check.Note, of(t, fs, "CA50").Verdict)
	assert.Equal(t, check.OK, of(t, fs, "shaft speed with the wastegate closed").Verdict)
	lax := input(sound(3000))
	lax.KnockIntegral = 1.2
	assert.Equal(t, check.Note, of(t, check.Judge(lax), "knock integral").Verdict)
}

// TestOnTheLimit: a binding limit is met to within the solver's tolerance, and that is well.
func TestOnTheLimit(t *testing.T) {
	o := sound(5000)
	o.Point.KnockIntegral, o.Point.PeakPressure, o.Point.ShaftSpeed = 1+1e-6, 100e5*(1+1e-6), 12000*(1+1e-6)
	o.Point.Compressor.SurgeMargin, o.Point.Compressor.ChokeMargin = 0.05-1e-6, -1e-6
	assert.Empty(t, check.Failed(check.Judge(input(o))))
}

// TestWithoutLimits: what has no limit is not judged; a NaN never passes.
func TestWithoutLimits(t *testing.T) {
	fs := check.Judge(check.Input{Outcomes: []boost.Outcome{sound(3000)}, Venue: 1e5})
	assert.Empty(t, fs)
	assert.Empty(t, check.Judge(check.Input{}))
	o := sound(3000)
	o.Point.PeakPressure = math.NaN()
	assert.Equal(t, []string{"cylinder pressure"}, check.Failed(check.Judge(input(o))))
}

// TestRangePastALimit: a limit that is passed is told with the lowest and the highest speed at which it is, above a ceiling and below a floor.
func TestRangePastALimit(t *testing.T) {
	hot := func(n, t float64) boost.Outcome {
		o := sound(n)
		o.Point.TurbineInletTemperature = t
		return o
	}
	near := func(n float64) boost.Outcome {
		o := sound(n)
		o.Point.Compressor.SurgeMargin = 0.04
		return o
	}
	fs := check.Judge(input(near(2000), near(2500), hot(3000, 1251), hot(4000, 1260), hot(5000, 1252), sound(6000)))
	egt, surge := of(t, fs, "EGT"), of(t, fs, "surge margin")
	assert.Equal(t, []float64{3000 * rpm, 4000 * rpm, 5000 * rpm}, []float64{egt.From, egt.Speed, egt.To})
	assert.Equal(t, []float64{2000 * rpm, 2500 * rpm}, []float64{surge.From, surge.To})
	assert.Zero(t, of(t, fs, "cylinder pressure").To)
}

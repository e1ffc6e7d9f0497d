package run_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"bellmouth/internal/gearing"
	"bellmouth/internal/run"
	"bellmouth/internal/runtest"
	"bellmouth/internal/spec"
	"bellmouth/internal/spectest"
)

// otherwise returns the run's points with a trim that has other values of what the engine does not know of.
func otherwise(t *testing.T, r *run.Run, settings ...string) *run.Run {
	t.Helper()
	var all []spec.Setting
	for _, text := range settings {
		s, err := spec.ParseSetting(text)
		require.NoError(t, err)
		all = append(all, s)
	}
	file, err := spec.Load(spectest.Hillclimb, all...)
	require.NoError(t, err)
	trim, err := file.Trim(r.Trim.Name)
	require.NoError(t, err)
	other := *r
	other.Trim = &trim
	return &other
}

// driven returns what the car of a run does on its own grip.
func driven(t *testing.T, r *run.Run) *run.Drive {
	t.Helper()
	d, err := r.Drive(run.Place{})
	require.NoError(t, err)
	return d
}

// slicks keep the tyres of the example from limiting anything, so that the torque shows.
const slicks = "car.grip=5"

// A carByHand is a car as a spec has it, for the formulas written out below.
type carByHand struct {
	mass, grip, rear, driven, height, wheelbase, radius, area, rolling, wheels float64
	ratio, final, efficiency, engine, limiter                                  float64
}

// gripThrust is Gillespie's limit of an axle that drives alone, front (0) or rear (1).
func (c carByHand) gripThrust() float64 {
	weight, h := c.mass*9.80665, c.height/c.wheelbase
	if c.driven == 1 {
		return c.grip * (c.rear - c.rolling*h) * weight / (1 - c.grip*h)
	}
	return c.grip * (1 - c.rear + c.rolling*h) * weight / (1 + c.grip*h)
}

// acceleration is Newton's second law, with a torque at an engine speed, rad/s.
func (c carByHand) acceleration(torque, speed, density float64) float64 {
	i := c.ratio * c.final
	v := speed * c.radius / i
	force := torque*i*c.efficiency/c.radius - density/2*c.area*v*v - c.rolling*c.mass*9.80665
	return force / (c.mass + (c.wheels+c.engine*i*i*c.efficiency)/c.radius/c.radius)
}

// TestEveryKeyOfTheCarDrives changes one key of car and driveline after the other, and sees the grip's thrust, the acceleration in fifth gear and the speed of
// the limiter change as the formulas written out above do.
func TestEveryKeyOfTheCarDrives(t *testing.T) {
	const speed = 2000 * spectest.PerRPM
	solved := runtest.Solved(t, spectest.Hillclimb, "open", 2000, 5000, 7800)
	torque := solved.Outcomes[0].Point.Torque
	base := carByHand{mass: 1080, grip: 1.25, rear: 0.38, driven: 0, height: 0.48, wheelbase: 2.55, radius: 0.298, area: 0.78, rolling: 0.014, wheels: 3.6,
		ratio: 1.06, final: 4.10, efficiency: 0.94, engine: 0.14, limiter: 7800 * spectest.PerRPM}
	const grips, pulls, ends = 1, 2, 4
	for _, c := range []struct {
		setting string
		change  func(c *carByHand)
		moves   int // which of the three figures are another than the example's
	}{
		{"car.mass=1250 kg", func(c *carByHand) { c.mass = 1250 }, grips | pulls},
		{"car.grip=0.9", func(c *carByHand) { c.grip = 0.9 }, grips},
		{"car.rear_weight=50 %", func(c *carByHand) { c.rear = 0.5 }, grips},
		{"car.rear_thrust=100 %", func(c *carByHand) { c.driven = 1 }, grips},
		{"car.centre_height=0.6 m", func(c *carByHand) { c.height = 0.6 }, grips},
		{"car.wheelbase=2.3 m", func(c *carByHand) { c.wheelbase = 2.3 }, grips},
		{"car.rolling_radius=0.32 m", func(c *carByHand) { c.radius = 0.32 }, pulls | ends},
		{"car.drag_area=1.1 m2", func(c *carByHand) { c.area = 1.1 }, pulls},
		{"car.rolling_resistance=0.03", func(c *carByHand) { c.rolling = 0.03 }, grips | pulls},
		{"car.wheel_inertia=6 kg m2", func(c *carByHand) { c.wheels = 6 }, pulls},
		{"driveline.gears={1: 3, 2: 2.5, 3: 2, 4: 1.5, 5: 1.2}", func(c *carByHand) { c.ratio = 1.2 }, pulls | ends},
		{"driveline.final=3.6", func(c *carByHand) { c.final = 3.6 }, pulls | ends},
		{"driveline.efficiency=85 %", func(c *carByHand) { c.efficiency = 0.85 }, pulls},
		{"driveline.engine_inertia=0.3 kg m2", func(c *carByHand) { c.engine = 0.3 }, pulls},
		{"engine.limiter=7000 rpm", func(c *carByHand) { c.limiter = 7000 * spectest.PerRPM }, ends},
	} {
		d := driven(t, otherwise(t, solved, c.setting))
		car := base
		c.change(&car)
		pull, err := d.Vehicle.Pull(4, speed*car.radius/(car.ratio*car.final), d.Road)
		require.NoError(t, err)
		const density = 1.1485 // as the command air prints it, to five digits
		for i, figure := range []struct {
			want, was, got, near float64
		}{
			{car.gripThrust(), base.gripThrust(), d.Grip, 1e-9},
			{car.acceleration(torque, speed, density), base.acceleration(torque, speed, density), pull.Acceleration, 1e-5},
			{car.limiter * car.radius / car.ratio / car.final, base.limiter * base.radius / base.ratio / base.final, d.Tops[4].Velocity, 1e-9},
		} {
			assert.InEpsilon(t, figure.want, figure.got, figure.near, "%s, figure %d", c.setting, i)
			moved := math.Abs(figure.got/figure.was-1) > 1e-3
			assert.Equal(t, c.moves&(1<<i) != 0, moved, "%s, figure %d", c.setting, i)
		}
	}
	assert.InDelta(t, 4000*spectest.PerRPM, driven(t, otherwise(t, solved, "driveline.launch_speed=4000 rpm")).Launch().EngineSpeed, 1e-9)
	// 205/50R16 rolls 3.05 (16 · 25.4 + 205) mm a turn.
	const tyre = "car={mass: 1080 kg, rear_thrust: 0 %, rear_weight: 38 %, centre_height: 0.48 m, wheelbase: 2.55 m, tyre: 205/50R16, grip: 1.25}"
	d := driven(t, otherwise(t, solved, tyre))
	assert.InDelta(t, 3.05*(16*0.0254+0.205)/(2*math.Pi), d.Vehicle.RollingRadius, 1e-12)
}

// TestLaunchAtMostTorque: without driveline.launch_speed the clutch slips where the engine has most torque.
func TestLaunchAtMostTorque(t *testing.T) {
	r := otherwise(t, runtest.Solved(t, spectest.Hillclimb, "open", 2000, 5000, 7800))
	r.Trim.Driveline.LaunchSpeed = 0
	assert.InDelta(t, 5000*spectest.PerRPM, driven(t, r).Launch().EngineSpeed, 1e-9)
}

// TestShiftKeys: what the spec says of a shift is what it costs, and without a word on the torque that is computed for each gear.
func TestShiftKeys(t *testing.T) {
	solved := runtest.Solved(t, spectest.Hillclimb, "open", 1500, 2500, 3500, 5000, 6500, 7800)
	over400 := func(r *run.Run) float64 {
		timed := driven(t, r).RunUps()[2]
		require.NoError(t, timed.Err)
		require.Equal(t, 400.0, timed.Distance)
		return timed.Done.Time
	}
	stated := []string{slicks, "driveline.shift.torque_kept=60 %", "driveline.shift.recovery=500 ms"}
	r := otherwise(t, solved, append(stated, "driveline.shift.time=200 ms")...)
	d := driven(t, r)
	assert.Equal(t, gearing.Shift{Time: 0.2, Kept: 0.6, Recovery: 0.5}, d.Vehicle.Shift)
	assert.Nil(t, d.Vehicle.Shifts, "the spec says it")
	// A longer cut, less torque and a later recovery each cost time over 400 m, and no more than the whole of them in every shift.
	shifts := float64(driven(t, r).RunUps()[2].Done.Shifts)
	require.Positive(t, shifts)
	was := over400(r)
	for _, c := range []struct {
		setting string
		most    float64
	}{
		{"driveline.shift.time=250 ms", 0.05},
		{"driveline.shift.torque_kept=40 %", 0.2 * 0.5 / 2},
		{"driveline.shift.recovery=700 ms", 0.4 * 0.2 / 2},
	} {
		more := over400(otherwise(t, solved, append(append([]string{"driveline.shift.time=200 ms"}, stated...), c.setting)...)) - was
		assert.Greater(t, more, 0.2*c.most*shifts, c.setting)
		assert.Less(t, more, 1.05*c.most*shifts, c.setting)
	}
	// Computed: each gear has what its shift cut keeps, of the first of two looks, and a heavy rotor loses less.
	light, heavy := otherwise(t, solved, slicks), otherwise(t, solved, slicks, "turbine.rotor_inertia=400 kg mm2")
	d = driven(t, light)
	require.Len(t, d.Vehicle.Shifts, 4)
	plain := *d.Vehicle
	plain.Shifts = nil
	g, err := plain.Gearing(d.Road)
	require.NoError(t, err)
	cuts, err := light.ShiftCuts(&plain, g)
	require.NoError(t, err)
	for i, s := range d.Vehicle.Shifts {
		assert.Equal(t, gearing.Shift{Time: 0.07, Kept: cuts[i].Torque, Recovery: cuts[i].Kept.Recovery}, s)
		assert.Less(t, s.Kept, 1.0)
	}
	assert.Less(t, over400(heavy), over400(light))
	// The gearing is that of the shifts computed: as if they had been told.
	told := *d.Vehicle
	again, err := told.Gearing(d.Road)
	require.NoError(t, err)
	assert.Equal(t, again.Upshifts, d.Upshifts)
	assert.NotEqual(t, g.Upshifts, d.Upshifts, "what is lost moves a shift")
}

// TestShiftCutsFromThePoints: at an upshift at the limiter and where it lands the run has points, so that the shaft's way down and what is left of the boost
// follow from their figures in closed form: Ω = Ω0 exp(−P t/(I Ω0²)), (PR'^k − 1)/(PR^k − 1) = (Ω/Ω1)², p' = p PR'/PR, t = V (p' − pa)/(R T m).
func TestShiftCutsFromThePoints(t *testing.T) {
	landing := 7800 * 2.05 / 2.92
	solved := runtest.Solved(t, spectest.Hillclimb, "capped", 3500, landing, 7800)
	before, after := solved.Outcomes[2].Point, solved.Outcomes[1].Point
	for _, c := range []struct {
		inertia, cut, count, plenum float64
	}{{92e-6, 0.07, 1, 3.4e-3}, {200e-6, 0.07, 1, 3.4e-3}, {92e-6, 0.1, 1, 3.4e-3}, {92e-6, 0.07, 2, 3.4e-3}, {92e-6, 0.07, 1, 6e-3}} {
		r := otherwise(t, solved)
		r.Trim.Turbine.RotorInertia, r.Trim.Driveline.Shift.Time, r.Trim.Compressor.Count, r.Trim.Manifold.Plenum = c.inertia, c.cut, int(c.count), c.plenum
		d := driven(t, r)
		cuts, err := r.ShiftCuts(d.Vehicle, d.Gearing)
		require.NoError(t, err)
		require.Len(t, cuts, 4)
		got := cuts[0]
		require.NoError(t, got.Err)
		require.InDelta(t, 7800*spectest.PerRPM, got.EngineSpeed, 1e-6, "at the limiter")
		shaft := before.ShaftSpeed * math.Exp(-before.TurbineWork/c.count*c.cut/(c.inertia*before.ShaftSpeed*before.ShaftSpeed))
		assert.InEpsilon(t, before.ShaftSpeed, got.Before, 1e-9)
		assert.InEpsilon(t, shaft, got.Kept.After, 1e-9)
		assert.InEpsilon(t, after.ShaftSpeed, got.Needed, 1e-9)
		air, err := r.Trim.Venue.Mixture()
		require.NoError(t, err)
		gamma := air.Gamma((r.Trim.Venue.Temperature + after.OutletTemperature) / 2)
		k := (gamma - 1) / gamma
		slow := math.Min(1, shaft/after.ShaftSpeed)
		ratio := math.Pow(1+(math.Pow(after.PressureRatio, k)-1)*slow*slow, 1/k)
		pressure := after.ManifoldPressure * ratio / after.PressureRatio
		assert.InEpsilon(t, before.ManifoldPressure, got.Boost, 1e-9)
		assert.InEpsilon(t, after.ManifoldPressure, got.Landing, 1e-9)
		assert.InEpsilon(t, pressure, got.After, 1e-9)
		assert.InEpsilon(t, (after.IMEP*ratio/after.PressureRatio-(after.IMEP-after.BMEP))/after.BMEP, got.Torque, 1e-9)
		most, e := 1/(1-after.WastegateFraction), shaft*shaft/after.ShaftSpeed/after.ShaftSpeed
		back := 0.0
		if e < 0.98 {
			back = c.inertia * after.ShaftSpeed * after.ShaftSpeed / 2 / (after.TurbineWork / c.count) * math.Log((most-e)/(most-0.98))
		}
		assert.InDelta(t, back, got.Kept.Recovery, 1e-9)
		assert.InEpsilon(t, c.plenum*(pressure-r.Trim.Venue.Pressure)/(air.GasConstant()*after.ManifoldTemperature*after.AirFlow), got.Refill, 1e-9)
	}
}

// TestShiftCutsSayWhatIsMissing: without a rotor's inertia nothing is computed, nor for an engine without a turbocharger.
func TestShiftCutsSayWhatIsMissing(t *testing.T) {
	solved := runtest.Solved(t, spectest.Hillclimb, "open", 2000, 5000, 7800)
	r := otherwise(t, solved)
	r.Trim.Turbine.RotorInertia = 0
	d := driven(t, otherwise(t, solved))
	_, err := r.ShiftCuts(d.Vehicle, d.Gearing)
	assert.ErrorIs(t, err, run.ErrNoSpool)
	r.Trim.Turbine = nil
	_, err = r.ShiftCuts(d.Vehicle, d.Gearing)
	assert.EqualError(t, err, "no turbocharger")
}

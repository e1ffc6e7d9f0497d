package sheet

import (
	"errors"
	"fmt"
	"math"

	"bellmouth/internal/airpath"
	"bellmouth/internal/gas"
	"bellmouth/internal/manifold"
	"bellmouth/internal/numeric"
	"bellmouth/internal/run"
	"bellmouth/internal/table"
	"bellmouth/internal/units"
)

// Of the manifold's tables.
const (
	noPoint  = "no point has a solution"
	noRunner = "The spec has no section manifold.runner: its tuning and Mach numbers are left out."
	noSpread = "The spec has no manifold.spread: each cylinder's share of the air and what unevenness costs are left out."
)

// Manifold returns what the manifold is, and how its runners are tuned: as a pipe and as the neck of the cylinder.
func (r *Run) Manifold() ([]table.Table, error) {
	s, err := r.sound()
	if err != nil {
		return nil, err
	}
	head := r.runner(s)
	text, err := r.withoutShares()
	if err != nil {
		return nil, err
	}
	if text != "" {
		head.Notes = append(head.Notes, text)
	}
	tables := []table.Table{head}
	if r.Trim.Manifold.Runner != nil && s.known() {
		pipe, neck, err := r.tuning(s)
		if err != nil {
			return nil, err
		}
		tables = append(tables, pipe, neck)
	}
	return tables, nil
}

// withoutShares says why there are no tables of the cylinders' shares; empty where there are, or where one cylinder has it all.
func (r *Run) withoutShares() (string, error) {
	_, _, err := r.Spread()
	doubt := unread(err)
	switch {
	case doubt != nil:
		return fmt.Sprintf("At %.0f rpm %s. Shares and what they cost are left out.", run.RPM(r.Outcomes[doubt.at].Speed), doubt), nil
	case err != nil:
		return "", err
	case r.Trim.Manifold.Spread == nil && r.Trim.Engine.Cylinders > 1:
		return noSpread, nil
	}
	return "", nil
}

// A sounding is the air in the manifold at full load, over engine speed.
type sounding struct {
	air         gas.Mixture
	temperature numeric.Curve // K; zero when no point has a solution
}

func (r *Run) sound() (sounding, error) {
	air, err := r.Trim.Venue.Mixture()
	if err != nil {
		return sounding{}, fmt.Errorf("trim %q: %w", r.Trim.Name, err)
	}
	s := sounding{air: air}
	var speeds, temperatures []float64
	for i := range r.Outcomes {
		if o := &r.Outcomes[i]; o.Err == nil {
			speeds, temperatures = append(speeds, o.Speed), append(temperatures, o.Point.ManifoldTemperature)
		}
	}
	if len(speeds) == 0 {
		return s, nil
	}
	if s.temperature, err = numeric.NewCurve(speeds, temperatures); err != nil {
		return sounding{}, fmt.Errorf("trim %q: manifold temperature over engine speed: %w", r.Trim.Name, err)
	}
	return s, nil
}

func (s *sounding) known() bool { return !s.temperature.IsZero() }

// at returns the state of the manifold's air at rest.
func (s *sounding) at(pressure, temperature float64) manifold.State {
	return manifold.State{Pressure: pressure, Temperature: temperature, Gamma: s.air.Gamma(temperature), GasConstant: s.air.GasConstant()}
}

// speedOfSound returns the speed of sound, m/s, at the manifold's temperature at an engine speed.
func (s *sounding) speedOfSound(speed float64) (a, temperature float64) {
	temperature, _ = s.temperature.At(speed)
	return s.at(1e5, temperature).SoundSpeed(), temperature
}

// tunedTo returns the engine speed that f gives for the speed of sound which the manifold has at that very engine speed.
func (s *sounding) tunedTo(guess float64, f func(soundSpeed float64) (float64, error)) (float64, error) {
	speed := guess
	for range 50 { // the temperature answers weakly to the speed, so a few rounds settle it
		a, _ := s.speedOfSound(speed)
		next, err := f(a)
		if err != nil {
			return 0, err
		}
		if math.Abs(next-speed) < 1e-9*speed {
			return next, nil
		}
		speed = next
	}
	return 0, fmt.Errorf("no engine speed agrees with the manifold temperature that it has")
}

// band returns the engine speeds that are used, rad/s, and in words where they come from; ok is false when no point is solved.
func (r *Run) band() (lo, hi float64, from string, ok bool) {
	hi = r.Trim.Engine.Limiter
	if ratios := r.Trim.Driveline.Ratios(); len(ratios) > 1 {
		least := 1.0
		for i := range ratios[1:] {
			least = math.Min(least, ratios[i+1]/ratios[i])
		}
		if least < 1 {
			return hi * least, hi, "from where the widest upshift at the limiter lands, to the limiter", true
		}
	}
	o := r.peak(run.Torque)
	if o == nil {
		return 0, 0, "", false
	}
	return math.Min(o.Speed, hi), hi, "from peak torque to the limiter: the spec gives no gears", true
}

// runner returns the manifold's figures that do not change with engine speed.
func (r *Run) runner(s sounding) table.Table {
	m := r.Trim.Manifold
	c := r.Trim.Engine.Cylinder
	var fields []table.Field[*Run]
	number := func(key, title string, quantity units.Kind, digits int, value float64) {
		fields = append(fields, table.Number(key, title, quantity, func(*Run) float64 { return value }).WithDigits(digits))
	}
	var notes []string
	if runner := m.Runner; runner != nil {
		volume, err := manifold.MeanVolume(c.Displacement(), c.CompressionRatio)
		number("runner_length_m", "runner length", units.Length, 0, runner.Length)
		number("runner_bore_m", "  bore", units.Length, 1, runner.Bore)
		fields = append(fields, table.Words("runner_mouth", "  mouth", func(*Run) string { return mouthWords(runner.Mouth) }))
		number("end_correction_m", "  end correction", units.Length, 1, runner.Mouth.EndCorrection(runner.Bore))
		number("acoustic_length_m", "  acoustic length", units.Length, 0, runner.AcousticLength())
		number("runner_volume_m3", "  volume", units.Volume, 0, runner.Area()*runner.AcousticLength())
		fields = append(fields, table.Cells("mean_cylinder_volume_m3", "mean volume above a piston", units.Volume, func(*Run) table.Cell {
			if err != nil {
				return table.Missing(err.Error())
			}
			return table.Num(volume)
		}).WithDigits(0))
	} else {
		notes = append(notes, noRunner)
	}
	if m.Plenum > 0 {
		number("plenum_volume_m3", "plenum volume", units.Volume, 0, m.Plenum)
		number("plenum_displacement_ratio", "  over displacement", units.Number, 2, m.Plenum/(c.Displacement()*float64(r.Trim.Engine.Cylinders)))
	}
	fields = append(fields, r.tunedAt(s)...)
	t := table.One("manifold", r, fields...)
	t.Trim, t.Notes = r.Trim.Name, notes
	return t
}

// tunedAt returns the speeds that the manifold is held against, and the air in it there.
func (r *Run) tunedAt(s sounding) []table.Field[*Run] {
	var fields []table.Field[*Run]
	cell := func(key, title string, quantity units.Kind, get func() (float64, bool)) {
		fields = append(fields, table.Cells(key, title, quantity, func(*Run) table.Cell {
			if x, ok := get(); ok {
				return table.Num(x)
			}
			return table.Missing(noPoint)
		}))
	}
	torque := r.peak(run.Torque)
	peak := func() (float64, bool) {
		if torque == nil {
			return 0, false
		}
		return torque.Speed, true
	}
	lo, hi, from, ok := r.band()
	speedOfSound := func() (float64, bool) {
		speed, ok := peak()
		if !ok {
			return 0, false
		}
		a, _ := s.speedOfSound(speed)
		return a, true
	}
	cell("peak_torque_rpm", "peak torque at", units.Speed, peak)
	cell("peak_torque_manifold_temperature_k", "  manifold", units.Temperature, func() (float64, bool) {
		speed, ok := peak()
		if !ok {
			return 0, false
		}
		_, t := s.speedOfSound(speed)
		return t, true
	})
	cell("peak_torque_sound_speed_m_s", "  speed of sound in it", units.Velocity, speedOfSound)
	if runner := r.Trim.Manifold.Runner; runner != nil {
		fields = append(fields, table.Cells("pipe_frequency_hz", "  runner's own frequency, Hz", units.Number, func(*Run) table.Cell {
			a, ok := speedOfSound()
			if !ok {
				return table.Missing(noPoint)
			}
			f, err := runner.PipeFrequency(1, a)
			if err != nil {
				return table.Missing(err.Error())
			}
			return table.Num(f)
		}).WithDigits(0))
	}
	cell("band_from_rpm", "used band from", units.Speed, func() (float64, bool) { return lo, ok })
	cell("band_to_rpm", "  to", units.Speed, func() (float64, bool) { return hi, ok })
	fields = append(fields, table.Words("band_source", "  that is", func(*Run) string { return from }))
	return fields
}

func mouthWords(m manifold.Mouth) string {
	switch m {
	case manifold.Flush:
		return "flush with the plenum's wall"
	case manifold.Standing:
		return "standing free in the plenum"
	}
	return "not counted: the length is the acoustic one"
}

// A tuned is one runner: what it is tuned for, to which engine speed and by which order, and how long it is for that.
type tuned struct {
	what                string
	order               float64 // or ratio
	speed, length       float64
	temperature, change float64
	err                 error
}

// The orders shown: of the runner as it is down to the weakest, and of lengths those that are of use.
var (
	ordersAsBuilt = []float64{3, 4, 5, 6, 7, 8}
	ordersSought  = []float64{3, 4, 5}
	ratios        = []float64{manifold.LowestRatio, manifold.UsualRatio, manifold.HighestRatio}
)

var errNoNeck = errors.New("the runner would hold more than four times the mean volume above the piston: that is a pipe, not a neck")

// tuning returns the runner as a pipe and as a neck: the speeds it is tuned to, and the lengths that would be tuned to the
// speed of peak torque and to the middle of the band.
func (r *Run) tuning(s sounding) (pipe, neck table.Table, err error) {
	runner := *r.Trim.Manifold.Runner
	c := r.Trim.Engine.Cylinder
	volume, err := manifold.MeanVolume(c.Displacement(), c.CompressionRatio)
	if err != nil {
		return pipe, neck, fmt.Errorf("trim %q: %w", r.Trim.Name, err)
	}
	type target struct {
		what  string
		speed float64
	}
	var targets []target
	if o := r.peak(run.Torque); o != nil {
		targets = append(targets, target{"peak torque", o.Speed})
	}
	lo, hi, _, ok := r.band()
	if ok {
		targets = append(targets, target{"middle of the band", (lo + hi) / 2})
	}
	rows := func(asBuilt, sought []float64, speedOf func(order, a float64) (float64, error), lengthFor func(order, speed, a float64) (float64, error)) []tuned {
		var rows []tuned
		for _, k := range asBuilt {
			row := tuned{what: "as it is", order: k, length: runner.Length}
			row.speed, row.err = s.tunedTo(hi, func(a float64) (float64, error) { return speedOf(k, a) })
			_, row.temperature = s.speedOfSound(row.speed)
			rows = append(rows, row)
		}
		for _, at := range targets {
			for _, k := range sought {
				row := tuned{what: at.what, order: k, speed: at.speed}
				var a float64
				a, row.temperature = s.speedOfSound(at.speed)
				row.length, row.err = lengthFor(k, at.speed, a)
				row.change = row.length - runner.Length
				rows = append(rows, row)
			}
		}
		return rows
	}
	pipes := rows(ordersAsBuilt, ordersSought,
		func(k, a float64) (float64, error) { return runner.PipeTuningSpeed(k, a) },
		func(k, speed, a float64) (float64, error) { return runner.PipeLengthFor(speed, k, a) })
	necks := rows(ratios, ratios,
		func(k, a float64) (float64, error) {
			if runner.Area()*runner.AcousticLength() > 4*volume {
				return 0, errNoNeck
			}
			return runner.HelmholtzTuningSpeed(volume, k, a)
		},
		func(k, speed, a float64) (float64, error) {
			if crank := k * speed; runner.Area()*a/crank > 2*volume { // the volume that is tuned to it is (A a/(K N))²/V
				return 0, errNoNeck
			}
			return runner.HelmholtzLengthFor(speed, volume, k, a)
		})
	pipe = tunedTable("runner as a pipe", pipes, "pipe_order", "order", 0, "pipe_tuning_rpm", "pipe_length_m", true)
	pipe.Notes = []string{
		"Tuned: the suction wave comes back from the plenum as pressure after a turn over the order. The lower the order the stronger the wave; 3 to 5 are of use (common practice, no source).",
		"Lengths from the inlet valve to the plenum, port included. Linear acoustics place a peak within about a tenth of its speed and say nothing of its height.",
	}
	neck = tunedTable("runner as a neck", necks, "neck_ratio", "K", 1, "helmholtz_tuning_rpm", "helmholtz_length_m", false)
	neck.Notes = []string{
		"The runner as the neck of the cylinder while the valve is open, after Engelman (from memory). K, natural frequency over turns of the crank, is about 2.1 and lies between 2.0 and 2.5.",
	}
	if held := runner.Area() * runner.AcousticLength() / volume; held > 1 {
		neck.Notes = append(neck.Notes, fmt.Sprintf("The runner holds %.1f times the mean volume above the piston: the more it holds, the less it acts as a neck, and the more as a pipe.", held))
	}
	pipe.Trim, neck.Trim = r.Trim.Name, r.Trim.Name
	return pipe, neck, nil
}

func tunedTable(name string, rows []tuned, orderKey, orderTitle string, orderDigits int, speedKey, lengthKey string, wave bool) table.Table {
	known := func(built bool, get func(t tuned) float64) func(t tuned) table.Cell {
		return func(t tuned) table.Cell {
			// Of a runner as it is the length is given and the speed computed, of the others the other way round.
			if t.err != nil && built == (t.what == "as it is") {
				return table.Missing(t.err.Error())
			}
			return table.Num(get(t))
		}
	}
	fields := []table.Field[tuned]{
		table.Words("tuned_for", "runner for", func(t tuned) string { return t.what }),
		table.Number(orderKey, orderTitle, units.Number, func(t tuned) float64 { return t.order }).WithDigits(orderDigits),
		table.Cells(speedKey, "tuned to", units.Speed, known(true, func(t tuned) float64 { return t.speed })).WithDigits(table.Hundreds),
		table.Cells(lengthKey, "length", units.Length, known(false, func(t tuned) float64 { return t.length })).WithDigits(0),
		table.Cells("length_change_m", "against now", units.Length, known(false, func(t tuned) float64 { return t.change })).WithDigits(0),
	}
	if wave {
		fields = append(fields, table.Number("wave_return_deg", "wave back after", units.Angle, func(t tuned) float64 { return 2 * math.Pi / t.order }).WithDigits(0))
	}
	return table.Of(name, rows, append(fields,
		table.Cells("manifold_temperature_k", "manifold", units.Temperature, known(true, func(t tuned) float64 { return t.temperature })))...)
}

// ManifoldAir returns how fast the air moves on its way to the valves at full load, and what throttle and duct cost.
func (r *Run) ManifoldAir() (table.Table, error) {
	s, err := r.sound()
	if err != nil {
		return table.Table{}, err
	}
	m := r.Trim.Manifold
	c, valves := r.Trim.Engine.Cylinder, r.Trim.Engine.Valves
	state := func(p *airpath.Point) manifold.State { return s.at(p.ManifoldPressure, p.ManifoldTemperature) }
	answer := func(key, title string, quantity units.Kind, get func(p *airpath.Point) (float64, error)) table.Field[row] {
		return cells(key, title, quantity, func(_ row, p *airpath.Point) table.Cell {
			x, err := get(p)
			if err != nil {
				return table.Missing(err.Error())
			}
			return table.Num(x)
		})
	}
	passage := func(name string, d manifold.Duct, count int) []table.Field[row] {
		flow := func(get func(f manifold.Flow) float64) func(p *airpath.Point) (float64, error) {
			return func(p *airpath.Point) (float64, error) {
				f, err := d.Flow(p.AirFlow/float64(count), state(p))
				return get(f), err
			}
		}
		return []table.Field[row]{
			answer(name+"_velocity_m_s", name, units.Velocity, flow(func(f manifold.Flow) float64 { return f.Velocity })).WithDigits(0),
			answer(name+"_mach", name+" Mach", units.Number, flow(func(f manifold.Flow) float64 { return f.Mach })).WithDigits(2).InDetail(),
			answer(name+"_loss_pa", name+" loss", units.PressureDifference, flow(func(f manifold.Flow) float64 { return f.Loss })).WithDigits(3),
		}
	}
	groups := [][]table.Field[row]{{
		speedField(0),
		figure("manifold_pressure_pa", "manifold", units.Pressure, func(p *airpath.Point) float64 { return p.ManifoldPressure }),
		manifoldTemperature,
		figure("air_flow_kg_s", "air", units.MassFlow, func(p *airpath.Point) float64 { return p.AirFlow }).WithDigits(0),
	}}
	if m.Runner != nil {
		mach := func(p *airpath.Point) (float64, error) {
			return manifold.MeanMach(c.BoreArea(), m.Runner.Area(), c.MeanPistonSpeed(p.Speed), state(p).SoundSpeed())
		}
		groups = append(groups, []table.Field[row]{
			answer("runner_velocity_m_s", "runner", units.Velocity, func(p *airpath.Point) (float64, error) {
				x, err := mach(p)
				return x * state(p).SoundSpeed(), err
			}).WithDigits(0),
			answer("runner_mach", "runner Mach", units.Number, mach).WithDigits(2),
		})
	}
	groups = append(groups, when(valves != nil, answer("inlet_mach_index", "inlet Mach index", units.Number, func(p *airpath.Point) (float64, error) {
		return valves.InletMachIndex(c, p.Speed, state(p).SoundSpeed())
	}).WithDigits(2)))
	if m.Throttle != nil {
		groups = append(groups, passage("throttle", m.Throttle.Duct, m.Throttle.Count))
	}
	if m.Duct != nil {
		groups = append(groups, passage("duct", *m.Duct, 1))
	}
	t := r.overSpeed("manifold air", join(groups...)...)
	t.Notes = []string{"Full load. Runner and valve: mean over the inlet stroke; at the piston's fastest the runner's air is about 1.6 times as fast. Inlet Mach index after Taylor at the manifold's temperature; " +
		"filling falls quickly above about 0.6."}
	if m.Throttle != nil || m.Duct != nil {
		text := "Throttle open, mean flow, air as in the manifold. Boost counts in the plenum, so the losses cost the compressor work, which the operating points do not have."
		if !r.Forced() {
			text = "Throttle open, mean flow, air as in the manifold. The operating points do not have the losses: the filling falls in proportion to manifold pressure."
		}
		t.Notes = append(t.Notes, text)
	}
	return t, nil
}

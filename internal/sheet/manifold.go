package sheet

import (
	"errors"
	"fmt"
	"math"

	"bellmouth/internal/airpath"
	"bellmouth/internal/manifold"
	"bellmouth/internal/run"
	"bellmouth/internal/table"
	"bellmouth/internal/units"
)

var errNoPoint = errors.New("no point has a solution")

// Of the manifold's tables.
const (
	noRunner = "The spec has no section manifold.runner: its tuning and Mach numbers are left out."
	noSpread = "The spec has no manifold.spread: each cylinder's share of the air and what unevenness costs are left out."
)

// Manifold returns what the manifold is, and how its runners are tuned: as a pipe and as the neck of the cylinder.
func (r *Run) Manifold() ([]table.Table, error) {
	s, err := r.Sound()
	if err != nil {
		return nil, err
	}
	text, err := r.withoutShares()
	if err != nil {
		return nil, err
	}
	head := r.runner(&s)
	if text != "" {
		head.Notes = append(head.Notes, text)
	}
	tables := []table.Table{head}
	if r.Trim.Manifold.Runner != nil && s.Known() {
		pipes, necks, err := r.Tunings(&s, r.peak(run.Torque))
		if err != nil {
			return nil, err
		}
		tables = append(tables, r.pipe(pipes), r.neck(necks))
	}
	return tables, nil
}

// runner returns the manifold's figures that do not change with engine speed.
func (r *Run) runner(s *run.Sounding) table.Table {
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
		fields = append(fields, table.Known[*Run](func(*Run) error { return err }).
			Number("mean_cylinder_volume_m3", "mean volume above a piston", units.Volume, func(*Run) float64 { return volume }).WithDigits(0))
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
func (r *Run) tunedAt(s *run.Sounding) []table.Field[*Run] {
	torque := r.peak(run.Torque)
	band, used := r.UsedBand(torque)
	peak := table.Known[*Run](func(*Run) error {
		if torque == nil {
			return errNoPoint
		}
		return nil
	})
	inBand := table.Known[*Run](func(*Run) error {
		if !used {
			return errNoPoint
		}
		return nil
	})
	var sound, temperature float64
	if torque != nil {
		sound, temperature = s.At(torque.Speed)
	}
	fields := []table.Field[*Run]{
		peak.Number("peak_torque_rpm", "peak torque at", units.Speed, func(*Run) float64 { return torque.Speed }),
		peak.Number("peak_torque_manifold_temperature_k", "  manifold", units.Temperature, func(*Run) float64 { return temperature }),
		peak.Number("peak_torque_sound_speed_m_s", "  speed of sound in it", units.Velocity, func(*Run) float64 { return sound }),
	}
	if runner := r.Trim.Manifold.Runner; runner != nil {
		fields = append(fields, peak.Answer("pipe_frequency_hz", "  runner's own frequency, Hz", units.Number, func(*Run) (float64, error) {
			return runner.PipeFrequency(1, sound)
		}).WithDigits(0))
	}
	return append(fields,
		inBand.Number("band_from_rpm", "used band from", units.Speed, func(*Run) float64 { return band.From }),
		inBand.Number("band_to_rpm", "  to", units.Speed, func(*Run) float64 { return band.To }),
		table.Words("band_source", "  that is", func(*Run) string {
			switch {
			case !used:
				return ""
			case band.ByGears:
				return "from where the widest upshift at the limiter lands, to the limiter"
			}
			return "from peak torque to the limiter: the spec gives no gears"
		}))
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

// pipe returns the speeds that a runner is tuned to as a pipe, and the lengths for others.
func (r *Run) pipe(tunings []run.Tuning) table.Table {
	order := table.Number("pipe_order", "order", units.Number, func(t run.Tuning) float64 { return t.Order }).WithDigits(0)
	wave := table.Number("wave_return_deg", "wave back after", units.Angle, func(t run.Tuning) float64 { return 2 * math.Pi / t.Order }).WithDigits(0)
	t := r.tunings("runner as a pipe", tunings, order, "pipe_tuning_rpm", "pipe_length_m", wave)
	t.Notes = []string{
		"Tuned: the suction wave comes back from the plenum as pressure after a turn over the order. The lower the order the stronger the wave; 3 to 5 are of use (common practice, no source).",
		"Lengths from the inlet valve to the plenum, port included. Linear acoustics place a peak within about a tenth of its speed and say nothing of its height.",
	}
	return t
}

// neck returns the speeds that a runner is tuned to as the neck of the cylinder, and the lengths for others.
func (r *Run) neck(tunings []run.Tuning) table.Table {
	ratio := table.Number("neck_ratio", "K", units.Number, func(t run.Tuning) float64 { return t.Order }).WithDigits(1)
	t := r.tunings("runner as a neck", tunings, ratio, "helmholtz_tuning_rpm", "helmholtz_length_m")
	t.Notes = []string{
		"The runner as the neck of the cylinder while the valve is open, after Engelman (from memory). K, natural frequency over turns of the crank, is about 2.1 and lies between 2.0 and 2.5.",
	}
	runner, c := r.Trim.Manifold.Runner, r.Trim.Engine.Cylinder
	volume, err := manifold.MeanVolume(c.Displacement(), c.CompressionRatio)
	if held := runner.Area() * runner.AcousticLength() / volume; err == nil && held > 1 {
		t.Notes = append(t.Notes, fmt.Sprintf("The runner holds %.1f times the mean volume above the piston: the more it holds, the less it acts as a neck, and the more as a pipe.", held))
	}
	return t
}

// tunings is the table of a runner's tunings. order is its column of orders; more follow the lengths.
func (r *Run) tunings(name string, rows []run.Tuning, order table.Field[run.Tuning], speedKey, lengthKey string, more ...table.Field[run.Tuning]) table.Table {
	// Of a runner as it is the length is given and the speed computed, of the others the other way round.
	known := func(asBuilt bool) table.Known[run.Tuning] {
		return func(t run.Tuning) error {
			if asBuilt == (t.Aim == run.AsBuilt) {
				return t.Err
			}
			return nil
		}
	}
	fields := []table.Field[run.Tuning]{
		table.Words("tuned_for", "runner for", func(t run.Tuning) string {
			switch t.Aim {
			case run.ForPeakTorque:
				return "peak torque"
			case run.ForMiddleOfBand:
				return "middle of the band"
			}
			return "as it is"
		}),
		order,
		known(true).Number(speedKey, "tuned to", units.Speed, func(t run.Tuning) float64 { return t.Speed }).WithDigits(table.Hundreds),
		known(false).Number(lengthKey, "length", units.Length, func(t run.Tuning) float64 { return t.Length }).WithDigits(0),
		known(false).Number("length_change_m", "against now", units.Length, func(t run.Tuning) float64 { return t.Change }).WithDigits(0),
	}
	fields = append(append(fields, more...),
		known(true).Number("manifold_temperature_k", "manifold", units.Temperature, func(t run.Tuning) float64 { return t.Temperature }))
	t := table.Of(name, rows, fields...)
	t.Trim = r.Trim.Name
	return t
}

// ManifoldAir returns how fast the air moves on its way to the valves at full load, and what throttle and duct cost.
func (r *Run) ManifoldAir() (table.Table, error) {
	s, err := r.Sound()
	if err != nil {
		return table.Table{}, err
	}
	m := r.Trim.Manifold
	answer := func(key, title string, quantity units.Kind, get func(v *run.InletSpeed) (float64, error)) table.Field[row] {
		return solvedRow.Answer(key, title, quantity, func(o row) (float64, error) {
			v := r.InletSpeedAt(&s, &o.Point)
			return get(&v)
		})
	}
	passage := func(name string, of func(v *run.InletSpeed) *run.Passage) []table.Field[row] {
		flow := func(get func(f *manifold.Flow) float64) func(v *run.InletSpeed) (float64, error) {
			return func(v *run.InletSpeed) (float64, error) {
				p := of(v)
				return get(&p.Flow), p.Err
			}
		}
		return []table.Field[row]{
			answer(name+"_velocity_m_s", name, units.Velocity, flow(func(f *manifold.Flow) float64 { return f.Velocity })).WithDigits(0),
			answer(name+"_mach", name+" Mach", units.Number, flow(func(f *manifold.Flow) float64 { return f.Mach })).WithDigits(2).InDetail(),
			answer(name+"_loss_pa", name+" loss", units.PressureDifference, flow(func(f *manifold.Flow) float64 { return f.Loss })).WithDigits(3),
		}
	}
	groups := [][]table.Field[row]{
		{
			speedField(0),
			figure("manifold_pressure_pa", "manifold", units.Pressure, func(p *airpath.Point) float64 { return p.ManifoldPressure }),
			manifoldTemperature,
			figure("air_flow_kg_s", "air", units.MassFlow, func(p *airpath.Point) float64 { return p.AirFlow }).WithDigits(0),
		},
		when(m.Runner != nil,
			answer("runner_velocity_m_s", "runner", units.Velocity, func(v *run.InletSpeed) (float64, error) { return v.RunnerVelocity, v.RunnerErr }).WithDigits(0),
			answer("runner_mach", "runner Mach", units.Number, func(v *run.InletSpeed) (float64, error) { return v.RunnerMach, v.RunnerErr }).WithDigits(2)),
		when(r.Trim.Engine.Valves != nil,
			answer("inlet_mach_index", "inlet Mach index", units.Number, func(v *run.InletSpeed) (float64, error) { return v.ValveIndex, v.ValveErr }).WithDigits(2)),
	}
	if m.Throttle != nil {
		groups = append(groups, passage("throttle", func(v *run.InletSpeed) *run.Passage { return &v.Throttle }))
	}
	if m.Duct != nil {
		groups = append(groups, passage("duct", func(v *run.InletSpeed) *run.Passage { return &v.Duct }))
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

package sheet

import (
	"errors"
	"fmt"
	"math"
	"strings"

	"bellmouth/internal/airpath"
	"bellmouth/internal/formula"
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
		peak.Number("peak_torque_manifold_temperature_k", "  IAT", units.Temperature, func(*Run) float64 { return temperature }),
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
			return "from peak torque to the limiter, as the spec gives no gears"
		}))
}

func mouthWords(m manifold.Mouth) string {
	switch m {
	case manifold.Flush:
		return "flush with the plenum's wall"
	case manifold.Standing:
		return "standing free in the plenum"
	}
	return "not counted, the length is the acoustic one"
}

// pipe returns the speeds that a runner is tuned to as a pipe, and the lengths for others.
func (r *Run) pipe(tunings []run.Tuning) table.Table {
	order := table.Number("pipe_order", "order", units.Number, func(t run.Tuning) float64 { return t.Order }).WithDigits(0)
	wave := table.Number("wave_return_deg", "wave back after", units.Angle, func(t run.Tuning) float64 { return 2 * math.Pi / t.Order }).WithDigits(0)
	t := r.tunings("runner as a pipe", tunings, order, "pipe_tuning_rpm", "pipe_length_m", wave)
	t.Notes = []string{
		"Orders of 3 to 5 are of use, the lower the stronger.",
		"A peak lies within about a tenth of its speed; how high it is, this does not tell.",
		"Lengths run from the inlet valve to the plenum, port included.",
	}
	return t
}

// neck returns the speeds that a runner is tuned to as the neck of the cylinder, and the lengths for others.
func (r *Run) neck(tunings []run.Tuning) table.Table {
	ratio := table.Number("neck_ratio", "K", units.Number, func(t run.Tuning) float64 { return t.Order }).WithDigits(1)
	t := r.tunings("runner as a neck", tunings, ratio, "helmholtz_tuning_rpm", "helmholtz_length_m")
	runner, c := r.Trim.Manifold.Runner, r.Trim.Engine.Cylinder
	volume, err := manifold.MeanVolume(c.Displacement(), c.CompressionRatio)
	if held := runner.Area() * runner.AcousticLength() / volume; err == nil && held > 1 {
		t.Notes = []string{fmt.Sprintf("The runner holds %.1f times the mean volume above the piston. "+
			"The more it holds, the less it acts as a neck and the more as a pipe.", held)}
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
		known(true).Number("manifold_temperature_k", "IAT", units.Temperature, func(t run.Tuning) float64 { return t.Temperature }))
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
			manifoldPressure,
			manifoldTemperature,
			figure("air_flow_kg_s", "air", units.MassFlow, func(p *airpath.Point) float64 { return p.AirFlow }).WithDigits(0),
		},
		when(m.Runner != nil,
			answer("runner_velocity_m_s", "runner", units.Velocity, func(v *run.InletSpeed) (float64, error) { return v.RunnerVelocity, v.RunnerErr }).
				WithDigits(0),
			answer("runner_mach", "runner Mach", units.Number, func(v *run.InletSpeed) (float64, error) { return v.RunnerMach, v.RunnerErr }).WithDigits(2)),
		when(r.Trim.Engine.Valves != nil,
			answer("inlet_mach_index", "inlet Mach index", units.Number, func(v *run.InletSpeed) (float64, error) { return v.ValveIndex, v.ValveErr }).
				WithDigits(2)),
	}
	if m.Throttle != nil {
		groups = append(groups, passage("throttle", func(v *run.InletSpeed) *run.Passage { return &v.Throttle }))
	}
	if m.Duct != nil {
		groups = append(groups, passage("duct", func(v *run.InletSpeed) *run.Passage { return &v.Duct }))
	}
	t := r.overSpeed("manifold air", join(groups...)...)
	t.Notes = []string{"Full load."}
	if r.Trim.Engine.Valves != nil {
		t.Notes = append(t.Notes, "Filling falls quickly above an inlet Mach index of about 0.6.")
	}
	var parts []string
	if m.Throttle != nil {
		parts = append(parts, "throttle")
	}
	if m.Duct != nil {
		parts = append(parts, "duct")
	}
	if parts != nil {
		text := fmt.Sprintf("The operating points do not have the loss of %s: it costs the compressor more work.", strings.Join(parts, " and "))
		if !r.Forced() {
			text = fmt.Sprintf("The operating points do not have the loss of %s: filling falls in proportion to MAP.", strings.Join(parts, " and "))
		}
		t.Notes = append(t.Notes, text)
	}
	return t, nil
}

// Sources that several explanations of these columns share.
const (
	acoustics     = "Kinsler, Frey, Coppens and Sanders, Fundamentals of Acoustics"
	endCorrection = "Levine and Schwinger (1948), Nomura et al. (1960), constants from memory"
)

// manifoldEntries explain the columns above.
func manifoldEntries() []formula.Entry {
	return []formula.Entry{
		{
			Key: "runner_length_m", Title: "runner length",
			Meaning: "Length of a runner along its middle, from the inlet valve to the plenum, the port included.",
			Formula: given, Source: given, Range: always,
		},
		{
			Key: "runner_bore_m", Title: "bore",
			Meaning: "Diameter of the circle with the runner's mean area.",
			Formula: given, Source: given, Range: always,
		},
		{
			Key: "runner_mouth", Title: "mouth",
			Meaning: "How the runner opens into the plenum, which decides the end correction.",
			Formula: given, Source: given, Range: always,
		},
		{
			Key: "end_correction_m", Title: "end correction",
			Meaning: "Length by which the air beyond the runner's mouth moves along with it.",
			Formula: "0.8216 d/2 flush with a wall, 0.6133 d/2 standing free, 0 where the length given is the acoustic one",
			Source:  endCorrection, Range: "waves long against the bore",
		},
		{
			Key: "acoustic_length_m", Title: "acoustic length",
			Meaning: "Length as which the runner sounds: its own and the end correction of its mouth.",
			Formula: "L = l + 0.8216 d/2 flush with a wall, l + 0.6133 d/2 standing free",
			Source:  endCorrection, Range: "waves long against the bore",
		},
		{
			Key: "runner_volume_m3", Title: "volume",
			Meaning: "Air that one runner holds, end correction included.",
			Formula: "π d²/4 L", Source: ours, Range: always,
		},
		{
			Key: "mean_cylinder_volume_m3", Title: "mean volume above a piston",
			Meaning: "Volume that stands for the cylinder as a resonator's vessel.",
			Formula: "Ve = Vd/2 (rc + 1)/(rc − 1)", Source: "Engelman, ASME 73-WA/DGP-2 (1973), from memory", Range: always,
		},
		{
			Key: "plenum_volume_m3", Title: "plenum volume",
			Meaning: "Volume of the plenum without runners and throttle.",
			Formula: given, Source: given, Range: always,
		},
		{
			Key: "plenum_displacement_ratio", Title: "over displacement",
			Meaning: "Plenum volume over the displacement of all cylinders.",
			Formula: "V/Vd", Source: ours, Range: always,
		},
		{
			Key: "peak_torque_manifold_temperature_k", Title: "IAT",
			Meaning: "Intake air temperature, in the manifold, at the speed of peak torque.",
			Formula: "Tm at max T", Source: solution, Range: full,
		},
		{
			Key: "peak_torque_sound_speed_m_s", Title: "speed of sound in it",
			Meaning: "Speed of sound in the manifold at the speed of peak torque.",
			Formula: "a = √(γ R T)", Source: "NACA Report 1135 (1953)", Range: "venue's moist air, γ at the manifold's temperature",
		},
		{
			Key: "pipe_frequency_hz", Title: "runner's own frequency, Hz",
			Meaning: "Lowest natural frequency of the runner with its valve closed.",
			Formula: "f = a/(4 L)",
			Source:  acoustics + ", pipe closed at one end; " + endCorrection, Range: "2π f r/a up to 0.5",
		},
		{
			Key: "band_from_rpm", Title: "used band from",
			Meaning: "Lowest engine speed that is used in the run.",
			Formula: "limiter × least ratio of a gear to the one before it; without gears the speed of peak torque",
			Source:  practice, Range: "shifts at the limiter, first gear's start left out",
		},
		{
			Key: "band_to_rpm", Title: "to",
			Meaning: "Highest engine speed that is used in the run.",
			Formula: "limiter", Source: given, Range: "shifts at the limiter",
		},
		{
			Key: "band_source", Title: "that is",
			Meaning: "Where the used band comes from.",
			Formula: "gears, or peak torque and limiter", Source: ours, Range: always,
		},
		{
			Key: "pipe_order", Title: "order",
			Meaning: "How often the runner's lowest natural frequency fits into the cycle. " +
				"The suction wave comes back from the plenum as pressure after one turn over the order. " +
				"The lower the order, the stronger the wave.",
			Formula: "k = 4π f/N", Source: practice, Range: "3 to 5 are of use; 2 to 8 are computed",
		},
		{
			Key: "wave_return_deg", Title: "wave back after",
			Meaning: "Crank angle after which the suction wave is back at the valve as pressure.",
			Formula: "360°/k", Source: practice, Range: "linear acoustics",
		},
		{
			Key: "pipe_tuning_rpm", Title: "tuned to",
			Meaning: "Engine speed at which the runner's lowest frequency fits k times into the cycle, " +
				"so that the suction wave comes back as pressure after 1/k turn. " +
				"Linear acoustics place a peak within about a tenth of its speed and say nothing of its height.",
			Formula: "N = 4π f/k, f = a/(4 L)",
			Source:  acoustics + ", for f; which orders are of use is common practice, no source", Range: "k from 2 to 8",
		},
		{
			Key: "pipe_length_m", Title: "length",
			Meaning: "Length of a runner that is tuned as a pipe to the speed.",
			Formula: "l = π a/(k N) − end correction",
			Source:  acoustics + "; " + endCorrection, Range: "as the pipe tuning speed; at least a bore long",
		},
		{
			Key: "neck_ratio", Title: "K",
			Meaning: "Natural frequency over turns of the crank at which the inlet has its peak, " +
				"with the runner as the neck of the cylinder while the valve is open.",
			Formula: "K = 2π f/N", Source: "Engelman, ASME 73-WA/DGP-2 (1973), from memory", Range: "2.0 to 2.5, 2.1 most often",
		},
		{
			Key: "helmholtz_tuning_rpm", Title: "tuned to",
			Meaning: "Engine speed to which runner and cylinder are tuned as neck and vessel of a resonator.",
			Formula: "N = 2π f/K, f = a/(2π) √(A/(L Ve)), Ve = Vd/2 (rc + 1)/(rc − 1)",
			Source:  "Engelman, ASME 73-WA/DGP-2 (1973), from memory, whose constant 162 is 60 · 12 √2/(2π) in feet and inches",
			Range:   "K from 2.0 to 2.5; a runner that holds up to four times Ve",
		},
		{
			Key: "tuned_for", Title: "runner for",
			Meaning: "The runner as it is, or one that would be tuned to the speed of peak torque or to the middle of the used band.",
			Formula: seeRow, Source: ours, Range: always,
		},
		{
			Key: "length_change_m", Title: "against now",
			Meaning: "Length of the row's runner less that of the spec's.",
			Formula: "l − length", Source: ours, Range: always,
		},
		{
			Key: "runner_velocity_m_s", Title: "runner",
			Meaning: "Speed of the air in the runner, mean over the inlet stroke; at the piston's fastest about 1.6 times as much.",
			Formula: "v = Ap Sp/A", Source: "continuity", Range: "air that follows the piston without compressing",
		},
		{
			Key: "runner_mach", Title: "runner Mach",
			Meaning: "Mach number in the runner, mean over the inlet stroke; at the piston's fastest about 1.6 times as much.",
			Formula: "M = Ap Sp/(A a)",
			Source:  "continuity, as the inlet Mach index of Taylor, The Internal-Combustion Engine in Theory and Practice, vol. 1, ch. 6",
			Range:   "up to 0.6, where the runner chokes at the piston's fastest",
		},
		{
			Key: "duct_loss_pa", Title: "duct loss",
			Meaning: "Total pressure lost in hoses and pipes before the throttle. " +
				"MAP counts in the plenum, so that the operating points do not have this loss.",
			Formula: "Δp0 = K ½ ρ v²",
			Source:  "definition of the loss coefficient; White, Fluid Mechanics, minor losses", Range: "up to a tenth of the pressure",
		},
		{
			Key: "duct_mach", Title: "duct Mach",
			Meaning: "Mach number of the air in hoses and pipes before the throttle.",
			Formula: "M from ψ(M) = ṁ √(R T0)/(A p0)", Source: "NACA Report 1135 (1953)", Range: "manifold's state; below choke",
		},
		{
			Key: "duct_velocity_m_s", Title: "duct",
			Meaning: "Speed of the air in hoses and pipes before the throttle.",
			Formula: "v = M √(γ R T), ψ(M) = ṁ √(R T0)/(A p0)", Source: "NACA Report 1135 (1953)", Range: "manifold's state; below choke",
		},
		{
			Key: "throttle_loss_pa", Title: "throttle loss",
			Meaning: "Total pressure lost in the open throttle. MAP counts in the plenum, so that the operating points do not have this loss.",
			Formula: "Δp0 = K ½ ρ v²",
			Source:  "definition of the loss coefficient; White, Fluid Mechanics, minor losses", Range: "up to a tenth of the pressure",
		},
		{
			Key: "throttle_mach", Title: "throttle Mach",
			Meaning: "Mach number of the air past the open throttle.",
			Formula: "M from ψ(M) = ṁ √(R T0)/(A p0)",
			Source:  "NACA Report 1135 (1953), isentropic flow of a perfect gas", Range: "below choke; γ 1.05 to 1.7",
		},
		{
			Key: "throttle_velocity_m_s", Title: "throttle",
			Meaning: "Speed of the air past the open throttle, its shaft taken off the area.",
			Formula: "v = M √(γ R T), ψ(M) = ṁ √(R T0)/(A p0), A = π d²/4 − (s √(d² − s²) + d² asin(s/d))/2",
			Source:  "NACA Report 1135 (1953), isentropic flow of a perfect gas", Range: "below choke; γ 1.05 to 1.7",
		},
		{
			Key: "helmholtz_length_m", Title: "length",
			Meaning: "Length of a runner that is tuned as the neck of the cylinder to the speed.",
			Formula: "l = (a/(K N))² A/Ve − end correction",
			Source:  "Engelman, ASME 73-WA/DGP-2 (1973), from memory; " + endCorrection, Range: "as the Helmholtz tuning speed; at least a bore long",
		},
	}
}

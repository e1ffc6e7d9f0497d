package sheet

import (
	"errors"
	"fmt"
	"math"
	"slices"

	"bellmouth/internal/check"
	"bellmouth/internal/formula"
	"bellmouth/internal/injector"
	"bellmouth/internal/run"
	"bellmouth/internal/spark"
	"bellmouth/internal/spec"
	"bellmouth/internal/supply"
	"bellmouth/internal/table"
	"bellmouth/internal/units"
	"bellmouth/internal/wiring"
)

var (
	errNotOn     = errors.New("none of its loads is on in a mode that settles")
	errNoDraw    = errors.New("draws nothing in any mode")
	errUnlimited = errors.New("the battery is not discharged")
	errOpenEnded = errors.New("the mode has no time")
	errNotBack   = errors.New("the battery is not charged in the full-load mode")
)

// Wiring returns what feeds the electrical loads: each channel with its wire and its setting, what is lost without it, the balance of each mode, every load,
// and what arrives at full load. The trim has to be Wired.
func (r *Run) Wiring() ([]table.Table, error) {
	c, err := r.Circuits()
	if err != nil {
		return nil, err
	}
	modes, full := c.Modes(), c.FullLoads()
	all := append(append([]run.Circuit(nil), modes...), full...)
	channels := c.Channels(all)
	tables := []table.Table{r.powerChannels(channels), r.channelSettings(channels)}
	if t, ok := r.channelsLost(c); ok {
		tables = append(tables, t)
	}
	tables = append(tables, r.balance(c.Balances(modes)), r.electricLoads(modes))
	if t, ok := r.arrivals(c, full); ok {
		tables = append(tables, t)
	}
	for i := range tables {
		tables[i].Trim = r.Trim.Name
	}
	return tables, nil
}

func (r *Run) powerChannels(all []run.ChannelLoad) table.Table {
	w := r.Trim.Wiring
	known := table.Known[run.ChannelLoad](func(c run.ChannelLoad) error {
		if c.Mode == nil {
			return errNotOn
		}
		return nil
	})
	number := func(key, title string, kind units.Kind, get func(c *run.ChannelLoad) float64) table.Field[run.ChannelLoad] {
		return known.Number(key, title, kind, func(c run.ChannelLoad) float64 { return get(&c) })
	}
	wire := known.And(func(c run.ChannelLoad) error { return c.WireErr })
	channel := func(get func(c *run.ChannelLoad) table.Cell) func(c run.ChannelLoad) table.Cell { // what the feed has none of
		return func(c run.ChannelLoad) table.Cell {
			if c.Feed {
				return table.Null()
			}
			return get(&c)
		}
	}
	t := table.Of("power channels", all,
		table.Words("channel", "channel", func(c run.ChannelLoad) string { return c.Name }),
		table.Lists("channel_loads", "loads", func(c run.ChannelLoad) []string {
			var names []string
			for _, l := range c.Loads {
				names = append(names, l.Name)
			}
			return names
		}).InDetail(),
		known.Cells("channel_mode", "mode", units.Number, func(c run.ChannelLoad) table.Cell { return table.Text(c.Mode.Name) }),
		number("channel_rpm", "at", units.Speed, func(c *run.ChannelLoad) float64 { return c.Speed }).InDetail(),
		number("mean_current_a", "mean", units.Current, func(c *run.ChannelLoad) float64 { return c.State.Mean }),
		number("heating_current_a", "heating", units.Current, func(c *run.ChannelLoad) float64 { return c.State.RMS() }),
		known.Cells("peak_current_a", "peak", units.Current, channel(func(c *run.ChannelLoad) table.Cell { return table.Num(c.Peak) })),
		known.Cells("inrush_current_a", "inrush", units.Current, channel(func(c *run.ChannelLoad) table.Cell {
			return table.Num(c.Inrush).Toned(failedIf(c.Fuse == 0 && check.Passes(c.Inrush, c.Channel.Peak)))
		})),
		table.Cells("channel_limit_a", "limit", units.Current, channel(func(c *run.ChannelLoad) table.Cell {
			if c.Fuse > 0 {
				return table.Num(c.Fuse).Noted("the rating of a fuse")
			}
			return table.Num(c.Limit)
		})),
		known.Cells("channel_margin", "margin", units.Fraction, channel(func(c *run.ChannelLoad) table.Cell {
			m := c.Margin(w.FuseLoad)
			return table.Num(m).Toned(failedIf(check.Lacks(m, 0)))
		})).WithDigits(0),
		known.Cells("supply_drop_v", "drop", units.Voltage, func(c run.ChannelLoad) table.Cell {
			return table.Num(c.Drop).Toned(failedIf(check.Passes(c.Share, w.LargestDrop)))
		}),
		number("supply_drop_share", "of supply", units.Fraction, func(c *run.ChannelLoad) float64 { return c.Share }).InDetail(),
		number("arriving_voltage_v", "arrives", units.Voltage, func(c *run.ChannelLoad) float64 { return c.Arrives }),
		number("wire_loss_w", "lost in wire", units.SmallPower, func(c *run.ChannelLoad) float64 { return c.State.Lost }).WithDigits(1).InDetail(),
		table.Number("wire_resistance_ohm", "wire resistance", units.Resistance, func(c run.ChannelLoad) float64 { return c.Wire.Resistance() }).WithDigits(4).InDetail(),
		known.Number("wire_mode_current_a", "wire bears", units.Current, func(c run.ChannelLoad) float64 { return c.Carries }).InDetail(),
		table.Cells("wire_area_m2", "wire", units.WireArea, func(c run.ChannelLoad) table.Cell {
			return table.Num(c.Wire.Area).Toned(failedIf(c.Mode != nil && check.Passes(c.State.RMS(), c.Carries)))
		}),
		wire.Number("smallest_area_m2", "smallest", units.WireArea, func(c run.ChannelLoad) float64 { return c.Smallest.Area }),
	)
	t.Notes = []string{fmt.Sprintf("Figures of the mode that heats the wire most; peak, inrush and drop the highest of all modes. Smallest: loses at most %.3g %% and carries the current.",
		100*w.LargestDrop)}
	for _, l := range w.LeftOut {
		t.Notes = append(t.Notes, "Load "+l.Load+" draws nothing: "+l.Why+".")
	}
	return t
}

// A protected channel is one with its fuse or setting.
type protected struct {
	run.ChannelLoad
	fuse       float64
	fuseErr    error
	setting    wiring.Setting
	settingErr error
}

func (r *Run) channelSettings(channels []run.ChannelLoad) table.Table {
	w := r.Trim.Wiring
	all := make([]protected, 0, len(channels))
	for _, c := range channels {
		if c.Feed {
			continue
		}
		all = append(all, protected{ChannelLoad: c, fuseErr: errNoDraw, settingErr: errNoDraw})
		p := &all[len(all)-1]
		if c.Mode == nil {
			p.fuseErr, p.settingErr = errNotOn, errNotOn
		}
		if !c.Draws() {
			continue
		}
		protection := c.Protection(w.FuseLoad)
		p.fuse, p.fuseErr = protection.FuseFor()
		p.settingErr = errors.New("a fuse has none")
		if c.Fuse == 0 {
			p.setting, p.settingErr = protection.SettingFor(c.Limit, c.Channel.Peak)
		}
	}
	fused := table.Known[protected](func(p protected) error { return p.fuseErr })
	set := table.Known[protected](func(p protected) error { return p.settingErr })
	fields := []table.Field[protected]{
		table.Words("channel", "channel", func(p protected) string { return p.Name }),
		table.Words("protected_by", "protected by", func(p protected) string {
			if p.Fuse > 0 {
				return "fuse"
			}
			return "managed output"
		}),
		table.Cells("wire_current_a", "wire carries", units.Current, func(p protected) table.Cell {
			n := table.Num(p.Lasting).Toned(failedIf(p.Fuse > 0 && check.Passes(p.Fuse, p.Lasting)))
			if p.Outside {
				return n.Noted("less than such a wire carries: its area is beyond those that are known")
			}
			return n
		}),
		fused.Number("fuse_rating_a", "fuse that suits", units.Current, func(p protected) float64 { return p.fuse }),
	}
	trips := []table.Field[protected]{
		set.Number("trip_current_a", "trip above", units.Current, func(p protected) float64 { return p.setting.Trip }),
		set.Number("trip_delay_s", "for", units.Time, func(p protected) float64 { return p.setting.Delay }).WithDigits(0),
		set.Number("retry_wait_s", "retry after", units.Time, func(p protected) float64 { return p.setting.Retry }).WithDigits(0),
	}
	if slices.ContainsFunc(all, func(p protected) bool { return p.Fuse == 0 }) {
		fields = append(fields, trips...)
	}
	t := table.Of("channel settings", all, fields...)
	t.Notes = []string{fmt.Sprintf("A rating or trip current carries %.0f %% continuously. An inrush that a fuse stands is in its own curves, which are not computed.", 100*w.FuseLoad),
		"Currents that wires carry: " + w.Insulation.Source() + "."}
	return t
}

// channelsLost tells of the channels without which the engine is not the same; ok is false where there are none.
func (r *Run) channelsLost(c *run.Circuits) (t table.Table, ok bool) {
	var all []run.TrippedChannel
	runsOn := ""
	for _, x := range c.Tripped() {
		if x.Err == nil && x.Loss == run.RunsOn {
			runsOn = listed(runsOn, x.Name)
			continue
		}
		all = append(all, x)
	}
	if len(all) == 0 {
		return table.Table{}, false
	}
	known := table.Known[run.TrippedChannel](func(x run.TrippedChannel) error { return x.Err })
	t = table.Of("channels lost", all,
		table.Words("channel", "channel", func(x run.TrippedChannel) string { return x.Name }),
		known.Cells("without_channel", "without it the engine", units.Number, func(x run.TrippedChannel) table.Cell {
			return table.Text(x.Loss.String()).Toned(map[run.Loss]table.Tone{run.LeansOut: table.Failed, run.Stops: table.Caution, run.CylindersOut: table.Caution}[x.Loss])
		}),
		known.Cells("lost_share", "lost", units.Fraction, func(x run.TrippedChannel) table.Cell {
			switch x.Loss {
			case run.LeansOut, run.CylindersOut:
				return table.Num(x.Share)
			}
			return table.Null()
		}).WithDigits(0),
		known.Cells("lambda_left", "lambda left", units.Number, func(x run.TrippedChannel) table.Cell {
			if math.IsNaN(x.Lambda) {
				return table.Null()
			}
			return table.Num(x.Lambda)
		}).WithDigits(2),
		known.Cells("lost_worst_rpm", "worst at", units.Speed, func(x run.TrippedChannel) table.Cell {
			if x.Loss == run.LeansOut || x.Loss == run.CylindersOut {
				return table.Num(x.Speed)
			}
			return table.Null() // lost at every speed
		}),
	)
	t.Notes = []string{"Lost: share of the fuel where it leans out, of the cylinders where some are out. Lambda as far as nothing corrects it."}
	if runsOn != "" {
		t.Notes = append(t.Notes, "The engine runs on without "+runsOn+".")
	}
	return t, true
}

func (r *Run) balance(all []run.Balance) table.Table {
	known := table.Known[run.Balance](func(b run.Balance) error { return b.Err })
	number := func(key, title string, kind units.Kind, get func(b *run.Balance) float64) table.Field[run.Balance] {
		return known.Number(key, title, kind, func(b run.Balance) float64 { return get(&b) })
	}
	t := table.Of("electrical balance", all,
		table.Words("mode", "mode", func(b run.Balance) string { return b.Mode.Name }),
		table.Number("mode_rpm", "speed", units.Speed, func(b run.Balance) float64 { return b.Speed }),
		number("load_current_a", "loads", units.Current, func(b *run.Balance) float64 { return b.Sum }),
		table.Cells("alternator_limit_a", "alternator at most", units.Current, func(b run.Balance) table.Cell {
			if b.Beyond {
				return table.Num(b.Output).Noted("speed outside the alternator's table: nothing below it, held above")
			}
			return table.Num(b.Output)
		}),
		number("alternator_current_a", "alternator", units.Current, func(b *run.Balance) float64 { return b.State.Supply.Alternator }).InDetail(),
		number("alternator_spare_a", "to spare", units.Current, func(b *run.Balance) float64 { return b.Output - b.Sum }).InDetail(),
		number("battery_current_a", "into battery", units.Current, func(b *run.Balance) float64 { return b.State.Supply.Battery }),
		number("source_voltage_v", "voltage", units.Voltage, func(b *run.Balance) float64 { return b.State.Supply.Voltage }),
		number("bus_voltage_v", "at the channels", units.Voltage, func(b *run.Balance) float64 { return b.State.Bus }).InDetail(),
		known.Cells("battery_lasts_s", "battery lasts", units.Duration, func(b run.Balance) table.Cell {
			if math.IsInf(b.Lasts, 1) {
				return table.Missing(errUnlimited.Error())
			}
			return table.Num(b.Lasts).Toned(failedIf(b.Negative()))
		}),
		table.Cells("mode_time_s", "mode lasts", units.Duration, func(b run.Balance) table.Cell {
			if b.Mode.Time == 0 {
				return table.Missing("continuously")
			}
			return table.Num(b.Mode.Time)
		}),
		known.Answer("battery_used_a_s", "out of battery", units.Charge, func(b run.Balance) (float64, error) {
			if math.IsNaN(b.Used) {
				return 0, errOpenEnded
			}
			return b.Used, nil
		}).WithDigits(2),
		known.Answer("battery_energy_j", "energy", units.BatteryEnergy, func(b run.Balance) (float64, error) {
			if math.IsNaN(b.Drawn) {
				return 0, errOpenEnded
			}
			return b.Drawn, nil
		}),
		known.Cells("battery_regained_s", "won back in", units.Duration, func(b run.Balance) table.Cell {
			switch {
			case math.IsNaN(b.Back):
				return table.Null()
			case math.IsInf(b.Back, 1):
				return table.Missing(errNotBack.Error())
			}
			return table.Num(b.Back)
		}),
		known.Cells("point_rpm", "points of", units.Speed, func(b run.Balance) table.Cell {
			if b.At == nil {
				return table.Missing(noSolution)
			}
			return table.Num(b.At.Speed)
		}).InDetail(),
	)
	battery := r.Trim.Wiring.Battery
	t.Notes = []string{fmt.Sprintf("Full battery, %s, of which %.0f %% counts; won back in the mode %s. Injection, pumps and boost of the solved full load nearest in speed, with the mode's share of its fuel.",
		units.Format(battery.Charge, units.Charge, units.Metric), 100*battery.Usable, r.Trim.Wiring.FullLoad.Name)}
	return t
}

// A placed load is a load in the mode in which it draws most.
type placedLoad struct {
	at      *run.Circuit // nil where no mode that is known has it on
	channel string
	name    string
	least   float64 // voltage that arrives in any mode, V
	wiring.LoadState
}

func (r *Run) electricLoads(modes []run.Circuit) table.Table {
	var all []placedLoad
	for k, c := range r.Trim.Wiring.Channels {
		for _, l := range c.Loads {
			all = append(all, placedLoad{channel: c.Name, name: l.Name, least: math.Inf(1)})
		}
		first := len(all) - len(c.Loads)
		for i := range modes {
			m, n := &modes[i], 0
			if m.Err != nil {
				continue
			}
			for j, l := range c.Loads {
				if !m.Mode.Has(l.Name) {
					continue
				}
				p, s := &all[first+j], m.State.Channels[k].Loads[n]
				n++
				p.least = math.Min(p.least, s.Voltage)
				if p.at == nil || s.Mean > p.Mean {
					p.at, p.LoadState = m, s
				}
			}
		}
	}
	known := table.Known[placedLoad](func(p placedLoad) error {
		if p.at == nil {
			return errNotOn
		}
		return nil
	})
	number := func(key, title string, kind units.Kind, get func(p *placedLoad) float64) table.Field[placedLoad] {
		return known.Number(key, title, kind, func(p placedLoad) float64 { return get(&p) })
	}
	t := table.Of("electrical loads", all,
		table.Words("electrical_load", "load", func(p placedLoad) string { return p.name }),
		table.Words("channel", "channel", func(p placedLoad) string { return p.channel }),
		known.Cells("mode", "mode", units.Number, func(p placedLoad) table.Cell { return table.Text(p.at.Mode.Name) }),
		number("mean_current_a", "mean", units.Current, func(p *placedLoad) float64 { return p.Mean }).WithDigits(2),
		number("drawing_current_a", "while it draws", units.Current, func(p *placedLoad) float64 { return p.While }).WithDigits(2),
		number("peak_current_a", "peak", units.Current, func(p *placedLoad) float64 { return p.LoadState.Peak }),
		number("supply_drop_v", "drop", units.Voltage, func(p *placedLoad) float64 { return p.Drop }),
		number("arriving_voltage_v", "arrives", units.Voltage, func(p *placedLoad) float64 { return p.Voltage }),
		number("arriving_power_w", "power", units.SmallPower, func(p *placedLoad) float64 { return p.Voltage * p.Mean }),
		number("least_arriving_voltage_v", "at least", units.Voltage, func(p *placedLoad) float64 { return p.least }),
	)
	t.Notes = []string{"Figures of the mode in which the load draws most; at least: the voltage in any mode."}
	return t
}

// An arrived row is one full load with what arrives at its parts.
type arrivedRow struct {
	*run.Circuit
	of                  map[spec.LoadKind]run.Arrival
	split               injector.Split
	firing              spark.Firing
	operation           supply.Operation
	splitErr, firingErr error
	operationErr        error
}

// arrivals returns what arrives over engine speed at full load, with what follows from it; ok is false where no load follows the engine.
func (r *Run) arrivals(c *run.Circuits, full []run.Circuit) (t table.Table, ok bool) {
	rows := make([]arrivedRow, len(full))
	has := map[spec.LoadKind]bool{}
	for i := range full {
		row := &rows[i]
		row.Circuit, row.of = &full[i], map[spec.LoadKind]run.Arrival{}
		for _, a := range c.Arrivals(row.Circuit) {
			if old, met := row.of[a.Kind]; !met || a.Voltage < old.Voltage {
				row.of[a.Kind] = a
			}
			has[a.Kind] = true
		}
		o := &r.Outcomes[i]
		if row.Err == nil && o.Err != nil {
			row.Circuit = &run.Circuit{Mode: row.Mode, Speed: row.Speed, Err: run.ErrNoSolution}
		}
		if row.Err != nil {
			continue
		}
		if a, met := row.of[spec.PrimaryInjectors]; met {
			row.split, row.splitErr = c.Inject(row.Mode, row.Speed, &o.Point, a.Voltage)
		}
		if a, met := row.of[spec.Coils]; met {
			row.firing, row.firingErr = c.Charge(row.Speed, a.Voltage)
		}
		if a, met := row.of[spec.MainPumps]; met {
			row.operation, row.operationErr = c.Pumping(row.Mode, row.Speed, &o.Point, a.Voltage)
		}
	}
	if len(has) == 0 {
		return table.Table{}, false
	}
	known := table.Known[arrivedRow](func(a arrivedRow) error { return a.Err })
	fields := []table.Field[arrivedRow]{
		table.Number("rpm", "speed", units.Speed, func(a arrivedRow) float64 { return a.Speed }),
		known.Number("source_voltage_v", "source", units.Voltage, func(a arrivedRow) float64 { return a.State.Supply.Voltage }),
		known.Number("battery_current_a", "into battery", units.Current, func(a arrivedRow) float64 { return a.State.Supply.Battery }),
	}
	arrives := func(kind spec.LoadKind, key, title string) {
		if has[kind] {
			fields = append(fields, known.Number(key, title, units.Voltage, func(a arrivedRow) float64 { return a.of[kind].Voltage }))
		}
	}
	arrives(spec.PrimaryInjectors, "primary_arriving_voltage_v", "at primary injectors")
	if has[spec.PrimaryInjectors] {
		injected := known.And(func(a arrivedRow) error { return a.splitErr })
		fields = append(fields,
			injected.Number("arriving_dead_time_s", "dead time", units.Time, func(a arrivedRow) float64 { return a.split.Primary.DeadTime }),
			injected.Number("arriving_duty", "duty", units.Fraction, func(a arrivedRow) float64 {
				return math.Max(a.split.Primary.Duty, a.split.Secondary.Duty)
			}))
	}
	arrives(spec.SecondaryInjectors, "secondary_arriving_voltage_v", "at secondary injectors")
	arrives(spec.Coils, "coil_arriving_voltage_v", "at coils")
	if has[spec.Coils] {
		fired := known.And(func(a arrivedRow) error { return a.firingErr })
		fields = append(fields,
			fired.Number("arriving_dwell_s", "dwell", units.Time, func(a arrivedRow) float64 { return a.firing.Dwell }),
			fired.Number("arriving_energy_j", "energy", units.Energy, func(a arrivedRow) float64 { return a.firing.Energy }).WithDigits(0))
	}
	arrives(spec.MainPumps, "pump_arriving_voltage_v", "at pumps")
	if has[spec.MainPumps] {
		pumped := known.And(func(a arrivedRow) error { return a.operationErr })
		fields = append(fields, pumped.Cells("arriving_pump_margin", "pump margin", units.Fraction, func(a arrivedRow) table.Cell {
			return table.Num(a.operation.Margin).Toned(tone(check.PumpMargin(a.operation.Margin)))
		}).WithDigits(0))
	}
	arrives(spec.LiftPumps, "lift_arriving_voltage_v", "at lift pumps")
	t = table.Of("voltage at full load", rows, fields...)
	t.Notes = r.loopNotes()
	return t, true
}

// loopNotes says which voltages the other tables are computed with.
func (r *Run) loopNotes() []string {
	w, t := r.Trim.Wiring, r.Trim
	notes := []string{"Loads of the mode " + w.FullLoad.Name + ". Currents, dead time, dwell and pumps go round with the voltages until they agree."}
	if r.LoopErr != nil {
		return append(notes, "The voltages of the other tables are the defaults: "+r.LoopErr.Error()+".")
	}
	var follow, stated string
	say := func(is, looped bool, what string, voltage float64) {
		text := what + " " + volts(voltage)
		switch {
		case !is:
		case looped:
			follow = listed(follow, text)
		default:
			stated = listed(stated, text)
		}
	}
	say(t.Injection != nil, w.Loop.Injectors, "injectors", voltageOf(t.Injection, func(in *spec.Injection) float64 { return in.SupplyVoltage }))
	say(r.Coil() != nil, w.Loop.Coils, "coils", voltageOf(t.Ignition, func(in *spec.Ignition) float64 { return in.SupplyVoltage }))
	say(r.HasPumps(), w.Loop.Pumps, "pumps", voltageOf(t.Supply, func(s *spec.Supply) float64 { return s.Voltage }))
	if follow != "" {
		notes = append(notes, fmt.Sprintf("The other tables take what arrives at %s: %s.", run.Speed(w.FullLoad.Speed), follow))
	}
	if stated != "" {
		notes = append(notes, "The other tables take what the spec states, which counts before the wiring: "+stated+".")
	}
	return notes
}

func voltageOf[T any](part *T, get func(part *T) float64) float64 {
	if part == nil {
		return 0
	}
	return get(part)
}

func listed(list, more string) string {
	if list == "" {
		return more
	}
	return list + ", " + more
}

// wiringEntries explain the columns above.
func wiringEntries() []formula.Entry {
	return []formula.Entry{
		{
			Key: "channel", Title: "channel",
			Meaning: "Name of the managed output or fuse.",
			Formula: given,
			Source:  given, Range: always,
		},
		{
			Key: "channel_loads", Title: "loads",
			Meaning: "The loads on the channel.",
			Formula: given,
			Source:  given, Range: always,
		},
		{
			Key: "channel_mode", Title: "mode",
			Meaning: "The mode in which the channel's wire is heated most, full load over speed included.",
			Formula: "the mode of the highest heating current",
			Source:  ours, Range: computed,
		},
		{
			Key: "channel_rpm", Title: "at",
			Meaning: "Engine speed at which the channel's wire is heated most.",
			Formula: "N at the highest heating current",
			Source:  ours, Range: computed,
		},
		{
			Key: "mean_current_a", Title: "mean",
			Meaning: "Mean current of a load, or of all loads of a channel.",
			Formula: "steady I0 (U/U0)^n, n 0 by current, −1 by power, 2 of fans, 0.55 of lamps; pulses n ∫i dt/T; pumps by the pressure that they add",
			Source:  "definition; voltage laws of lamps from memory, of fans derived", Range: "the loads of the mode",
		},
		{
			Key: "heating_current_a", Title: "heating",
			Meaning: "Root of the mean square of the channel's current, which heats its wire.",
			Formula: "√(Σ Ī W), W what the channel carries while a load draws",
			Source:  "Kirchhoff's laws", Range: "pulses of one load evenly apart, those of several by chance",
		},
		{
			Key: "peak_current_a", Title: "peak",
			Meaning: "Highest current that comes back again and again, all loads of a channel at once; in the table of loads, of the load.",
			Formula: "Σ of peak currents; m + 1 of n devices open at once, n D between m and m + 1",
			Source:  ours, Range: "pulses evenly apart",
		},
		{
			Key: "inrush_current_a", Title: "inrush",
			Meaning: "Current with all loads of the channel switched on at once.",
			Formula: "Σ max(peak, inrush × mean)",
			Source:  practice, Range: "the inrush of the spec, or 4 of motors and 10 of lamps",
		},
		{
			Key: "channel_limit_a", Title: "limit",
			Meaning: "Current that the managed output bears continuously, or the rating of the fuse.",
			Formula: given,
			Source:  given, Range: always,
		},
		{
			Key: "channel_margin", Title: "margin",
			Meaning: "Part left of what the channel may carry continuously.",
			Formula: "1 − I heating/limit; of a fuse 1 − I heating/(load share × rating)",
			Source:  ours, Range: computed,
		},
		{
			Key: "supply_drop_v", Title: "drop",
			Meaning: "Voltage lost between the source and the load, in the feed and the channel's wire, while the load draws.",
			Formula: "U source − U arriving = Rf Σ Ī + Rc W",
			Source:  "Kirchhoff's laws", Range: "quasi-steady; inductance of wires left out",
		},
		{
			Key: "supply_drop_share", Title: "of supply",
			Meaning: "Voltage lost over that of the source.",
			Formula: "drop/U source",
			Source:  ours, Range: computed,
		},
		{
			Key: "arriving_voltage_v", Title: "arrives",
			Meaning: "Voltage that arrives while the load draws; of a channel, at the load that has least.",
			Formula: "U source − drop",
			Source:  "Kirchhoff's laws", Range: "quasi-steady; inductance of wires left out",
		},
		{
			Key: "wire_loss_w", Title: "lost in wire",
			Meaning: "Power that the channel's wire turns into heat.",
			Formula: "R × mean of I²",
			Source:  "Kirchhoff's laws", Range: computed,
		},
		{
			Key: "wire_resistance_ohm", Title: "wire resistance",
			Meaning: "Resistance of the wire there and back at working temperature, with its contacts.",
			Formula: "R20 (1 + 0.00393 (T − 20 °C)) (L + Lreturn) + contacts",
			Source:  "IEC 60228 and IEC 60028", Range: "copper",
		},
		{
			Key: "wire_area_m2", Title: "wire",
			Meaning: "Area of the wire's copper.",
			Formula: given,
			Source:  given, Range: always,
		},
		{
			Key: "smallest_area_m2", Title: "smallest",
			Meaning: "Smallest standard wire that loses no more than accepted and carries the current, in every mode.",
			Formula: "the first of IEC 60228 class 5 with R W ≤ drop left by the feed, and the current that it carries ≥ I heating",
			Source:  "IEC 60228 and IEC 60028", Range: "0.5 to 50 mm2; same length, temperature and contacts",
		},
		{
			Key: "protected_by", Title: "protected by",
			Meaning: "Whether the channel is a managed output or a fuse.",
			Formula: given,
			Source:  given, Range: always,
		},
		{
			Key: "wire_current_a", Title: "wire carries",
			Meaning: "Current that the wire carries where it lies, continuously.",
			Formula: "by its area, straight between known sizes, × bundle factor",
			Source:  "PVC to 3 mm2 read on one trade page; thin wall, and above 6 mm2 IEC 60364-5-52, from memory but for 2 mm2",
			Range:   "in free air at 30 °C; beyond the known areas on the safe side",
		},
		{
			Key: "wire_mode_current_a", Title: "wire bears",
			Meaning: "Current that the wire bears in the mode that heats it most, for as long as that lasts.",
			Formula: "wire carries; for a mode of a time k A/√t if that is more, k 84.8 A √s/mm² of PVC from 30 to 70 °C, 112.9 of a thin wall to 105 °C",
			Source:  "IEC 60949 for k, from memory", Range: "a wire that is at 30 °C before",
		},
		{
			Key: "fuse_rating_a", Title: "fuse that suits",
			Meaning: "Smallest rating of a fuse that carries the current and protects the wire.",
			Formula: "the first rating with I heating ≤ load share × rating, if the wire carries the rating",
			Source:  "share of a rating: common practice, a weak source; ratings of ISO 8820-3 from memory", Range: "inrush not looked at: the fuse's own curve tells",
		},
		{
			Key: "trip_current_a", Title: "trip above",
			Meaning: "Lowest trip current of the channel that lets its loads work.",
			Formula: "max(I heating/load share, 1.1 × peak), and 1.1 × inrush if the channel's limit and the wire allow that",
			Source:  "share of a rating: common practice, a weak source; ratings of ISO 8820-3 from memory", Range: "no more than the channel's limit and what the wire carries",
		},
		{
			Key: "trip_delay_s", Title: "for",
			Meaning: "Time for which the trip current has to flow; 0: at once.",
			Formula: "0, or 1.5 × the inrush's time where the inrush is above the trip current; Imax² t ≤ (115 A √s/mm²)² A², Imax the channel's peak limit",
			Source:  "IEC 60364-4-43 for the wire, from memory; margins common practice, no source", Range: "the inrush below the channel's peak limit",
		},
		{
			Key: "retry_wait_s", Title: "retry after",
			Meaning: "Wait before the channel is switched on again.",
			Formula: "t (Imax²/Iw² − 1), at least 0.25 s",
			Source:  "mean heating of the wire no more than what it carries; least wait common practice, no source", Range: "any number of tries",
		},
		{
			Key: "without_channel", Title: "without it the engine",
			Meaning: "What the engine does at full load when the channel switches off, at the speed at which that is worst.",
			Formula: "from its loads: part of the fuel gone, it leans out up to lambda 1.5, beyond which it misfires; all fuel or all ignition gone, it stops; some cylinders without either, they are out",
			Source:  ours, Range: "the loads of the spec; what a steady load means is its key without",
		},
		{
			Key: "lost_share", Title: "lost",
			Meaning: "Share of the fuel gone where the engine leans out, of the cylinders out where some are.",
			Formula: "1 − fuel left/fuel taken; of pumps at the rail pressure asked, which is the highest it can be",
			Source:  ours, Range: computed,
		},
		{
			Key: "lambda_left", Title: "lambda left",
			Meaning: "Lambda that is left where the engine leans out, in the cylinders that it is about.",
			Formula: "λ/(1 − share gone there)",
			Source:  ours, Range: "as far as no control corrects it",
		},
		{
			Key: "lost_worst_rpm", Title: "worst at",
			Meaning: "Engine speed at which the loss of the channel is worst.",
			Formula: "N at the worst loss",
			Source:  ours, Range: computed,
		},
		{
			Key: "mode", Title: "mode",
			Meaning: "Name of the mode: which loads are on.",
			Formula: given,
			Source:  given, Range: always,
		},
		{
			Key: "mode_rpm", Title: "speed",
			Meaning: "Engine speed of the mode.",
			Formula: given,
			Source:  given, Range: always,
		},
		{
			Key: "load_current_a", Title: "loads",
			Meaning: "Sum of the mean currents of all loads.",
			Formula: "Σ Ī",
			Source:  "Kirchhoff's laws", Range: computed,
		},
		{
			Key: "alternator_limit_a", Title: "alternator at most",
			Meaning: "Highest current of the alternator at the engine speed.",
			Formula: "the table; 0 below it, held above",
			Source:  given, Range: always,
		},
		{
			Key: "alternator_spare_a", Title: "to spare",
			Meaning: "What the alternator can give besides the loads, which a battery that is not full may gain; negative where the battery has to help.",
			Formula: "Imax − Σ Ī",
			Source:  ours, Range: computed,
		},
		{
			Key: "alternator_current_a", Title: "alternator",
			Meaning: "Current that the alternator gives.",
			Formula: "loads + into battery",
			Source:  "Kirchhoff's laws", Range: computed,
		},
		{
			Key: "battery_current_a", Title: "into battery",
			Meaning: "Current into the battery; negative out of it.",
			Formula: "alternator − loads; at the regulator's voltage what a nearly full battery takes",
			Source:  "Kirchhoff's laws", Range: "a battery whose voltage at rest stays as it is",
		},
		{
			Key: "source_voltage_v", Title: "voltage", Also: []string{"source"},
			Meaning: "Voltage at the battery's terminals.",
			Formula: "Ub − Rb (Σ I − Imax) with a current out of the battery; else Ub + (Ur − Ub) (Imax − Σ I)/Ic, at most the regulator's Ur; Ic what the battery takes then",
			Source:  "Kirchhoff's laws", Range: "a battery whose voltage at rest stays as it is",
		},
		{
			Key: "bus_voltage_v", Title: "at the channels",
			Meaning: "Voltage where the channels begin, behind the feed.",
			Formula: "U source − Rf Σ Ī",
			Source:  "Kirchhoff's laws", Range: computed,
		},
		{
			Key: "battery_lasts_s", Title: "battery lasts",
			Meaning: "Time for which a full battery gives what the alternator does not.",
			Formula: "usable share × capacity/I",
			Source:  "conservation of charge", Range: "capacity at the current of its rating; less when cold, old or loaded harder",
		},
		{
			Key: "mode_time_s", Title: "mode lasts",
			Meaning: "Time that the mode lasts at most.",
			Formula: given,
			Source:  given, Range: always,
		},
		{
			Key: "battery_used_a_s", Title: "out of battery",
			Meaning: "Charge out of the battery in the mode's time; negative into it.",
			Formula: "I × time",
			Source:  "conservation of charge", Range: computed,
		},
		{
			Key: "battery_energy_j", Title: "energy",
			Meaning: "Energy out of the battery in the mode's time, at its terminals; negative into it.",
			Formula: "U I × time",
			Source:  "definition", Range: computed,
		},
		{
			Key: "battery_regained_s", Title: "won back in",
			Meaning: "Time in the full-load mode after which the battery has the charge again that the mode takes.",
			Formula: "charge out/charging current in the full-load mode",
			Source:  "conservation of charge", Range: "a battery that takes all that goes in",
		},
		{
			Key: "point_rpm", Title: "points of",
			Meaning: "Engine speed of the solved full load whose fuel, rail and boost are taken for the mode.",
			Formula: "the nearest in speed",
			Source:  ours, Range: computed,
		},
		{
			Key: "electrical_load", Title: "load",
			Meaning: "Name of the load.",
			Formula: given,
			Source:  given, Range: always,
		},
		{
			Key: "drawing_current_a", Title: "while it draws",
			Meaning: "Mean current while the load draws.",
			Formula: "mean of I²/Ī; with pulses of n devices evenly apart, n D = m + f: mean of I² from m² (1 − f) + (m + 1)² f",
			Source:  ours, Range: "pulses evenly apart",
		},
		{
			Key: "least_arriving_voltage_v", Title: "at least",
			Meaning: "Least voltage that arrives at the load in any mode while it draws.",
			Formula: "least of U arriving",
			Source:  "Kirchhoff's laws", Range: "quasi-steady; inductance of wires left out",
		},
		{
			Key: "arriving_power_w", Title: "power",
			Meaning: "Mean power that arrives at the load.",
			Formula: "U arriving × Ī",
			Source:  "Kirchhoff's laws", Range: computed,
		},
		{
			Key: "primary_arriving_voltage_v", Title: "at primary injectors",
			Meaning: "Voltage that arrives at the primary injectors while they draw.",
			Formula: "U source − drop",
			Source:  "Kirchhoff's laws", Range: "quasi-steady; inductance of wires left out",
		},
		{
			Key: "secondary_arriving_voltage_v", Title: "at secondary injectors",
			Meaning: "Voltage that arrives at the secondary injectors while they draw.",
			Formula: "U source − drop",
			Source:  "Kirchhoff's laws", Range: "quasi-steady; inductance of wires left out",
		},
		{
			Key: "coil_arriving_voltage_v", Title: "at coils",
			Meaning: "Voltage that arrives at the ignition coils while they draw.",
			Formula: "U source − drop",
			Source:  "Kirchhoff's laws", Range: "quasi-steady; inductance of wires left out",
		},
		{
			Key: "pump_arriving_voltage_v", Title: "at pumps",
			Meaning: "Voltage that arrives at the main fuel pumps.",
			Formula: "U source − drop",
			Source:  "Kirchhoff's laws", Range: "quasi-steady",
		},
		{
			Key: "lift_arriving_voltage_v", Title: "at lift pumps",
			Meaning: "Voltage that arrives at the lift pumps.",
			Formula: "U source − drop",
			Source:  "Kirchhoff's laws", Range: "quasi-steady",
		},
		{
			Key: "arriving_dead_time_s", Title: "dead time",
			Meaning: "Dead time of the primary injectors at the voltage that arrives.",
			Formula: "the table of the spec",
			Source:  given, Range: "voltages of the table, held outside",
		},
		{
			Key: "arriving_duty", Title: "duty",
			Meaning: "Duty of the injector set that works harder, with the dead time at the voltage that arrives.",
			Formula: "(fuel/ṁ + dead time) N/(4π)",
			Source:  "definition, four-stroke", Range: "fuel and rail of the solved full load",
		},
		{
			Key: "arriving_dwell_s", Title: "dwell",
			Meaning: "Dwell at the voltage that arrives.",
			Formula: "as dwell_s",
			Source:  "step response of a series inductance and resistance", Range: "a core that does not saturate",
		},
		{
			Key: "arriving_energy_j", Title: "energy",
			Meaning: "Energy stored in the coil with that dwell.",
			Formula: "½ L i²",
			Source:  "energy of a constant inductance", Range: "a core that does not saturate",
		},
		{
			Key: "arriving_pump_margin", Title: "pump margin",
			Meaning: "What the pumps give at the voltage that arrives, over what the engine takes.",
			Formula: "Q/Qe − 1",
			Source:  ours, Range: "voltages and pressures of the pump's tests",
		},
	}
}

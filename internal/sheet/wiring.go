package sheet

import (
	"errors"
	"fmt"
	"math"
	"slices"

	"bellmouth/internal/check"
	"bellmouth/internal/formula"
	"bellmouth/internal/run"
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
		table.Number("wire_resistance_ohm", "wire resistance", units.Resistance,
			func(c run.ChannelLoad) float64 { return c.Wire.Resistance() }).WithDigits(4).InDetail(),
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
			return table.Text(x.Loss.String()).Toned(map[run.Loss]table.Tone{run.LeansOut: table.Failed, run.Stops: table.Caution,
				run.CylindersOut: table.Caution}[x.Loss])
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
			Source:  "share of a rating: common practice, a weak source; ratings of ISO 8820-3 from memory",
			Range:   "no more than the channel's limit and what the wire carries",
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
	}
}

package run

import (
	"math"
	"slices"

	"bellmouth/internal/airpath"
	"bellmouth/internal/spec"
	"bellmouth/internal/supply"
	"bellmouth/internal/wiring"
)

// A ChannelLoad is what a channel, or the feed of all, carries in the mode in which its wire is heated most.
type ChannelLoad struct {
	*spec.Channel
	Feed    bool       // it is the feed: no protection is judged, since what protects it the spec does not say
	Mode    *spec.Mode // nil where no load is on in any mode that is known
	Speed   float64    // of the engine, rad/s
	State   wiring.ChannelState
	Peak    float64 // that comes back, in any mode, A
	Inrush  float64 // with all its loads of a mode switched on at once, in any mode, A
	StartAt *spec.Mode
	Starts  float64 // for which that flows, s
	Arrives float64 // least voltage at its loads in the mode, V
	Drop    float64 // greatest in any mode, in the feed and the wire, V
	Share   float64 // of the source's voltage then
	DropAt  *spec.Mode

	Carries  float64 // what its wire bears where it lies, for as long as the mode lasts, A
	Lasting  float64 // and continuously, A
	Outside  bool    // its area is none that is known
	Smallest wiring.Conductor
	WireErr  error // why there is no smallest
}

// Margin returns the part of what the channel may carry continuously that is left: of the limit, or of the share of the fuse's rating.
func (c *ChannelLoad) Margin(fuseLoad float64) float64 {
	if c.Fuse > 0 {
		return 1 - c.State.RMS()/(fuseLoad*c.Fuse)
	}
	return 1 - c.State.RMS()/c.Limit
}

// Protection returns what the channel's fuse or setting has to let pass and to protect.
func (c *ChannelLoad) Protection(fuseLoad float64) wiring.Protection {
	return wiring.Protection{Continuous: c.State.RMS(), Peak: c.Peak, Inrush: c.Inrush, InrushTime: c.Starts, Load: fuseLoad, Wire: c.Lasting, Area: c.Wire.Area}
}

// Draws reports whether any current flows through the channel in a mode that is known.
func (c *ChannelLoad) Draws() bool { return c.Mode != nil && c.State.Mean > 0 }

// Channels returns what each channel carries over the circuits, those that are not known left out; last the feed of all, where there is one.
func (c *Circuits) Channels(circuits []Circuit) []ChannelLoad {
	w := c.run.Trim.Wiring
	all := make([]ChannelLoad, 0, len(w.Channels)+1)
	for i := range w.Channels {
		all = append(all, carried(&w.Channels[i], circuits, w, func(l *ChannelLoad, at *Circuit) (wiring.Need, bool) { return l.add(at, i, w) }))
	}
	if w.Feed != nil {
		all = append(all, carried(&spec.Channel{Name: feedName, Wire: *w.Feed}, circuits, w, func(l *ChannelLoad, at *Circuit) (wiring.Need, bool) {
			l.Feed = true
			return l.addFeed(at, w)
		}))
	}
	return all
}

// feedName is the feed's name where it stands beside channels.
const feedName = "feed"

// carried returns what a channel carries over circuits, each of which add counts in.
func carried(ch *spec.Channel, circuits []Circuit, w *spec.Wiring, add func(l *ChannelLoad, at *Circuit) (n wiring.Need, drawn bool)) ChannelLoad {
	l := ChannelLoad{Channel: ch}
	l.Lasting, l.Outside = wiring.Bears(w.Insulation, l.Wire.Area, w.Bundle, 0)
	l.Carries = l.Lasting
	var needs []wiring.Need
	for k := range circuits {
		if n, drawn := add(&l, &circuits[k]); drawn {
			needs = append(needs, n)
		}
	}
	if needs != nil {
		l.Smallest, l.WireErr = wiring.Smallest(l.Wire, needs...)
	}
	return l
}

// addFeed counts a circuit in: the feed of its channels, through which the sum of the mean currents flows.
func (l *ChannelLoad) addFeed(at *Circuit, w *spec.Wiring) (n wiring.Need, drawn bool) {
	if at.Err != nil {
		return wiring.Need{}, false
	}
	supply := at.State.Supply
	sum := supply.Alternator - supply.Battery
	bears, _ := wiring.Bears(w.Insulation, l.Wire.Area, w.Bundle, at.Mode.Time)
	if l.Mode == nil || sum/bears > l.State.Mean/l.Carries {
		l.Mode, l.Speed, l.Carries, l.Arrives = at.Mode, at.Speed, bears, at.State.Bus
		l.State = wiring.ChannelState{Mean: sum, While: sum, Square: sum * sum, Drop: supply.Voltage - at.State.Bus, Lost: at.State.Lost}
	}
	if share := (supply.Voltage - at.State.Bus) / supply.Voltage; share > l.Share || l.DropAt == nil {
		l.Drop, l.Share, l.DropAt = supply.Voltage-at.State.Bus, share, at.Mode
	}
	wires := 0.0 // most that is lost behind the feed
	for _, c := range at.State.Channels {
		for _, load := range c.Loads {
			wires = math.Max(wires, at.State.Bus-load.Voltage)
		}
	}
	return wiring.Need{
		Current: sum, Time: at.Mode.Time, Drawn: sum, Drop: w.LargestDrop*supply.Voltage - wires, Insulation: w.Insulation, Bundle: w.Bundle,
	}, true
}

// add counts a circuit in: channel i of it. It returns what the wire is to do there, and false where the channel draws nothing.
func (l *ChannelLoad) add(at *Circuit, i int, w *spec.Wiring) (n wiring.Need, drawn bool) {
	if at.Err != nil || len(at.State.Channels[i].Loads) == 0 {
		return wiring.Need{}, false
	}
	s := at.State.Channels[i]
	bears, _ := wiring.Bears(w.Insulation, l.Wire.Area, w.Bundle, at.Mode.Time)
	if l.Mode == nil || s.RMS()/bears > l.State.RMS()/l.Carries {
		l.Mode, l.Speed, l.State, l.Carries = at.Mode, at.Speed, s, bears
		l.Arrives = math.Inf(1)
		for _, load := range s.Loads {
			l.Arrives = math.Min(l.Arrives, load.Voltage)
		}
	}
	inrush, starts, on := 0.0, 0.0, 0
	for k := range l.Loads {
		load := &l.Loads[k]
		if !at.Mode.Has(load.Name) {
			continue
		}
		state := s.Loads[on]
		on++
		inrush += math.Max(state.Peak, load.Inrush*state.Mean)
		if load.Inrush > 1 && state.Mean > 0 {
			starts = math.Max(starts, load.InrushTime)
		}
		if share := state.Drop / at.State.Supply.Voltage; share > l.Share || l.DropAt == nil {
			l.Drop, l.Share, l.DropAt = state.Drop, share, at.Mode
		}
	}
	l.Peak = math.Max(l.Peak, s.Peak)
	if inrush > l.Inrush || l.StartAt == nil {
		l.Inrush, l.Starts, l.StartAt = inrush, starts, at.Mode
	}
	return wiring.Need{
		Current: s.RMS(), Time: at.Mode.Time, Drawn: s.While, Insulation: w.Insulation, Bundle: w.Bundle,
		Drop: w.LargestDrop*at.State.Supply.Voltage - (at.State.Supply.Voltage - at.State.Bus), // what the feed leaves
	}, true
}

// A Balance is whether alternator and battery feed a mode.
type Balance struct {
	*Circuit
	Sum   float64 // of the loads, A
	Lasts float64 // that a full battery does, s; +Inf where it is not discharged
	Used  float64 // out of the battery in the mode's time, A s; negative: into it; NaN where the mode has no time
	Drawn float64 // energy that the battery gives at its terminals for that, or takes where negative, J; NaN likewise
	Back  float64 // time in the full-load mode in which the battery takes that again, s; +Inf where it takes nothing there, NaN where nothing is to be had back
}

// Balances returns the balance of each circuit; those without a state have none. What a mode takes out of the battery is won back in the full-load mode.
func (c *Circuits) Balances(circuits []Circuit) []Balance {
	battery := c.run.Trim.Wiring.Battery
	charging := 0.0
	for i := range circuits {
		if at := &circuits[i]; at.Err == nil && at.Mode.Name == c.run.Trim.Wiring.FullLoad.Name {
			charging = math.Max(0, at.State.Supply.Battery)
		}
	}
	all := make([]Balance, len(circuits))
	for i := range circuits {
		b := &all[i]
		b.Circuit, b.Lasts, b.Used, b.Drawn, b.Back = &circuits[i], math.Inf(1), math.NaN(), math.NaN(), math.NaN()
		if b.Err != nil {
			continue
		}
		into := b.State.Supply.Battery
		b.Sum = b.State.Supply.Alternator - into
		if into < 0 {
			b.Lasts = battery.Lasts(-into)
		}
		if b.Mode.Time > 0 {
			b.Used = -into * b.Mode.Time
			b.Drawn = b.State.Supply.Voltage * b.Used
			if b.Used > 0 {
				b.Back = b.Used / charging
			}
		}
	}
	return all
}

// Negative reports whether the battery is discharged past what is counted on while the mode lasts.
func (b *Balance) Negative() bool {
	return b.Err == nil && !math.IsInf(b.Lasts, 1) && (b.Mode.Time == 0 || b.Lasts < b.Mode.Time)
}

// A Loss is what the engine does without a channel.
type Loss int

// The losses, the worst first: lean at full load an engine melts, stopped it stays whole.
const (
	LeansOut Loss = iota
	Stops
	CylindersOut // some cylinders do not fire
	BoostLost
	RunsOn
)

// String returns the loss in words.
func (l Loss) String() string {
	return [...]string{"leans out", "stops", "cylinders out", "boost control lost", "runs on"}[l]
}

// A TrippedChannel is what is lost when a channel switches off at full load.
type TrippedChannel struct {
	*spec.Channel
	Loss   Loss
	Share  float64 // of the fuel gone where it leans out, or of the cylinders out
	Lambda float64 // that is left where it leans out; NaN where that does not follow
	Speed  float64 // of the engine, rad/s: where it is worst
	Err    error   // why it is not known
}

// Tripped returns what each channel's trip does at the run's full loads, worst first.
func (c *Circuits) Tripped() []TrippedChannel {
	w := c.run.Trim.Wiring
	all := make([]TrippedChannel, 0, len(w.Channels))
	for i := range w.Channels {
		all = append(all, c.trip(&w.Channels[i]))
	}
	slices.SortStableFunc(all, func(a, b TrippedChannel) int {
		switch {
		case a.Loss != b.Loss:
			return int(a.Loss - b.Loss)
		case a.Share > b.Share:
			return -1
		case a.Share < b.Share:
			return 1
		}
		return 0
	})
	return all
}

// trip returns the worst of what a channel's loads do at any full load.
func (c *Circuits) trip(ch *spec.Channel) TrippedChannel {
	out := TrippedChannel{Channel: ch, Loss: RunsOn, Lambda: math.NaN()}
	for k := range c.run.Outcomes {
		o := &c.run.Outcomes[k]
		if o.Err != nil {
			continue
		}
		for i := range ch.Loads {
			one := c.without(&ch.Loads[i], &o.Point)
			if one.Err != nil {
				out.Err = one.Err
			}
			if one.Loss < out.Loss || one.Loss == out.Loss && one.Share > out.Share {
				out.Loss, out.Share, out.Lambda, out.Speed = one.Loss, one.Share, one.Lambda, o.Speed
			}
		}
	}
	return out
}

// without returns what the engine does without a load at a full load.
func (c *Circuits) without(l *spec.ElectricLoad, p *airpath.Point) TrippedChannel {
	t := c.run.Trim
	out := TrippedChannel{Loss: RunsOn, Lambda: math.NaN()}
	if l.EngineOff {
		out.Loss, out.Share = Stops, 1
		return out
	}
	switch l.Kind {
	case spec.PrimaryInjectors, spec.SecondaryInjectors:
		set, gone := t.Injection.Staging.Primary, 1-p.Injection.SecondaryShare
		if l.Kind == spec.SecondaryInjectors {
			set, gone = t.Injection.Staging.Secondary, p.Injection.SecondaryShare
		}
		part := float64(l.Count) / float64(set.PerCylinder*t.Engine.Cylinders)
		return leaner(p, gone, part)
	case spec.Coils:
		part := math.Min(1, float64(l.Count*t.Ignition.Coil.SparksPerCycle)/float64(t.Engine.Cylinders))
		if coils := max(1, t.Engine.Cylinders/t.Ignition.Coil.SparksPerCycle); l.Count == coils {
			part = 1
		}
		return firing(part)
	case spec.MainPumps:
		return c.withoutPumps(l, p)
	case spec.LiftPumps:
		return c.withoutLift(l, p)
	case spec.BoostValve:
		out.Loss = BoostLost
	}
	return out
}

// leanestFires is the lambda from which on an engine misfires: about 1.5 with port injection, Heywood, Internal Combustion Engine Fundamentals (1988),
// ch. 9, from memory.
const leanestFires = 1.5

// leaner returns what is left without a part of the injectors of a set that gives a share of the fuel.
func leaner(p *airpath.Point, gone, part float64) TrippedChannel {
	switch {
	case gone == 0:
		return TrippedChannel{Loss: RunsOn, Lambda: math.NaN()}
	case gone == 1: // the only set: its cylinders get nothing
		return firing(part)
	}
	if lambda := p.Lambda / (1 - gone); lambda < leanestFires {
		return TrippedChannel{Loss: LeansOut, Share: gone * part, Lambda: lambda} // of the cylinders that it is about
	}
	return firing(part)
}

// firing returns what is left without a share of the cylinders.
func firing(gone float64) TrippedChannel {
	if gone >= 1 {
		return TrippedChannel{Loss: Stops, Share: 1, Lambda: math.NaN()}
	}
	return TrippedChannel{Loss: CylindersOut, Share: gone, Lambda: math.NaN()}
}

// withoutPumps returns what the main pumps that are left do.
func (c *Circuits) withoutPumps(l *spec.ElectricLoad, p *airpath.Point) TrippedChannel {
	t := c.run.Trim
	s, parallel := t.Supply.System.Pumps.(supply.Parallel)
	if !parallel || l.Count >= len(s) { // one behind the other a pump that stands is in the way
		return TrippedChannel{Loss: Stops, Share: 1, Lambda: math.NaN()}
	}
	if c.err != nil {
		return TrippedChannel{Loss: RunsOn, Lambda: math.NaN(), Err: c.err}
	}
	left := t.Supply.System
	left.Pumps = s[:len(s)-l.Count]
	op, err := left.At(supply.State{
		Voltage: t.Supply.Voltage, RailPressure: c.run.rail().AboveVenue(p.ManifoldPressure, t.Venue.Pressure),
		Demand: p.FuelFlow / c.liquid.Density, Liquid: c.liquid,
	})
	if err != nil {
		return TrippedChannel{Loss: RunsOn, Lambda: math.NaN(), Err: asOnDataSheet(err)}
	}
	return short(p, op.PumpFlow*c.liquid.Density)
}

// withoutLift returns what the lift pumps that are left do, once the pot is empty.
func (c *Circuits) withoutLift(l *spec.ElectricLoad, p *airpath.Point) TrippedChannel {
	lift := c.run.Trim.Supply.Lift
	pumps := countOf(lift.Pumps)
	if _, series := lift.Pumps.(supply.Series); series || l.Count >= pumps {
		return TrippedChannel{Loss: Stops, Share: 1, Lambda: math.NaN()}
	}
	flow, _, err := supply.FlowAt(lift.Pumps, lift.Pressure, lift.Voltage)
	if err == nil {
		err = c.err
	}
	if err != nil {
		return TrippedChannel{Loss: RunsOn, Lambda: math.NaN(), Err: asOnDataSheet(err)}
	}
	return short(p, flow*float64(pumps-l.Count)/float64(pumps)*c.liquid.Density)
}

// short returns what a fuel flow, kg/s, does that pumps give at the rail pressure asked instead of the one that is taken. As the rail falls they give
// somewhat more, so that the share gone is the highest it can be.
func short(p *airpath.Point, flow float64) TrippedChannel {
	gone := 1 - flow/p.FuelFlow
	if !(gone > 0) {
		return TrippedChannel{Loss: RunsOn, Lambda: math.NaN()}
	}
	if lambda := p.Lambda / (1 - gone); lambda < leanestFires {
		return TrippedChannel{Loss: LeansOut, Share: gone, Lambda: lambda}
	}
	return firing(1)
}

// countOf returns how many pumps a source has.
func countOf(s supply.Source) int {
	switch s := s.(type) {
	case supply.Parallel:
		return len(s)
	case supply.Series:
		return len(s)
	}
	return 1
}

package spec

import (
	"fmt"
	"slices"
	"strconv"
	"strings"

	"bellmouth/internal/supply"
	"bellmouth/internal/units"
	"bellmouth/internal/wiring"
)

// What loads draw when they are switched on, over what they draw at work, where the spec does not say. Common practice, no source.
const (
	motorInrush    = 4
	filamentInrush = 10
)

// assembleWiring builds the harness from channels, loads and modes.
func (d *draft) assembleWiring(dec *decoder) {
	if !dec.ok("wiring") {
		return
	}
	w := &d.wiring
	out := w.Wiring
	out.Insulation = insulationNamed(w.insulation)
	if at := "wiring.battery.charging"; !dec.has(at) {
		out.Battery.Charging = out.Battery.Charge / 3600 / 20
		dec.standIn(at, units.Format(out.Battery.Charging, units.Current, units.Metric), "a twentieth of the capacity in an hour; common practice, no source")
	}
	if dec.has("wiring.alternator") {
		out.Alternator = &w.alternator
	}
	if dec.has("wiring.feed") {
		feed := w.feed.wire(dec, "wiring.feed")
		out.Feed = &feed
	}
	for _, c := range w.channels {
		path := "wiring.channels." + c.Name
		c.Channel.Wire = c.wire.wire(dec, path)
		if c.Peak == 0 {
			c.Peak = c.Limit
		}
		if at := path + ".peak_limit"; c.Fuse > 0 && dec.has(at) {
			dec.fail(at, dec.given[at], "is of a managed output, and the channel has a fuse")
		} else if c.Limit > 0 && c.Peak < c.Limit {
			dec.fail(at, dec.given[at], "is %s; want no less than the limit, %s", shown(dec.given[at].text), dec.inUnitOf(at, units.Current, c.Limit))
		}
		out.Channels = append(out.Channels, c.Channel)
	}
	d.putLoads(dec, &out)
	d.putModes(dec, &out)
	if dec.bad["wiring"] {
		return
	}
	for _, c := range out.Channels {
		named := slices.ContainsFunc(w.loads, func(l *loadDraft) bool { return l.channel == c.Name })
		if !named {
			at := "wiring.channels." + c.Name
			dec.fail(at, dec.given[at], "feeds no load; name it as the channel of one")
			return
		}
	}
	has := func(kind LoadKind) bool {
		return slices.ContainsFunc(out.Channels, func(c Channel) bool {
			return slices.ContainsFunc(c.Loads, func(l ElectricLoad) bool { return l.Kind == kind && out.FullLoad.Has(l.Name) })
		})
	}
	follows := func(kind LoadKind, key string) bool {
		if !has(kind) || dec.has(key) {
			return false
		}
		for i := range dec.defaults {
			if v := &dec.defaults[i]; v.Path == key {
				v.Reason = "to begin with; then what arrives through the wiring in the mode " + out.FullLoad.Name
			}
		}
		return true
	}
	out.Loop = WiringLoop{
		Injectors: follows(PrimaryInjectors, "injection.supply_voltage"), Pumps: follows(MainPumps, "supply.pumps.voltage"),
		Lift: follows(LiftPumps, "supply.lift.voltage"), Coils: follows(Coils, "ignition.supply_voltage"),
	}
	d.Trim.Wiring = &out
}

// wire returns the wire of a section.
func (w *wireDraft) wire(dec *decoder, path string) wiring.Wire {
	out := wiring.Wire{Conductor: wiring.Flexible(w.area), Length: w.length, Return: w.back, Temperature: w.temperature, Contacts: w.contacts}
	if at := path + ".area"; dec.has(at) && gauge(dec.given[at].text) {
		out.Conductor = wiring.Solid(w.area)
	}
	dec.check(path, out.Validate)
	return out
}

// putLoads puts each load on its channel.
func (d *draft) putLoads(dec *decoder, out *Wiring) {
	var channels []string
	for _, c := range out.Channels {
		channels = append(channels, c.Name)
	}
	for _, l := range d.wiring.loads {
		path := "wiring.loads." + l.Name
		if dec.bad[path] {
			continue
		}
		i := slices.Index(channels, l.channel)
		if i < 0 {
			dec.fail(path+".channel", dec.given[path+".channel"], "%s", noSuchName(l.channel, "channel", channels))
			continue
		}
		if !d.describeLoad(dec, l, path) {
			continue
		}
		why, ok := d.lacking(dec, l), true
		if why == "" {
			why, ok = d.finishCount(dec, l, path)
		}
		switch {
		case why != "":
			out.LeftOut = append(out.LeftOut, LeftOut{l.Name, why})
		case ok:
			d.finishDraw(dec, l, path)
			out.Channels[i].Loads = append(out.Channels[i].Loads, l.ElectricLoad)
		}
	}
}

// A loadNeed is what a load of a kind is described by.
type loadNeed struct {
	section string     // of the spec that has the part; empty: none
	keys    [][]string // one of these sets has to be given, whole
	own     []string   // keys that the kind may have besides
}

var loadNeeds = [...]loadNeed{
	SteadyLoad:         {"", [][]string{{"current"}, {"power"}}, []string{"voltage", "without"}},
	FanLoad:            {"", [][]string{{"current"}, {"power"}}, []string{"voltage", "without"}},
	LampLoad:           {"", [][]string{{"current"}, {"power"}}, []string{"voltage", "without"}},
	PrimaryInjectors:   {"injection.primary", [][]string{{"resistance"}, {"peak", "hold", "peak_time"}}, []string{"count"}},
	SecondaryInjectors: {"injection.secondary", [][]string{{"resistance"}, {"peak", "hold", "peak_time"}}, []string{"count"}},
	Coils:              {"ignition.coil", [][]string{{}}, []string{"count"}},
	MainPumps:          {"supply.pumps", [][]string{{"pump_current"}}, []string{"count"}},
	LiftPumps:          {"supply.lift", [][]string{{"pump_current"}}, []string{"count"}},
	BoostValve:         {"wastegate.control", [][]string{{"resistance"}}, []string{"port"}},
}

// describeLoad reads what a load is by its kind, and reports whether that is well said.
func (d *draft) describeLoad(dec *decoder, l *loadDraft, path string) bool {
	l.Kind = LoadKind(slices.Index(loadKinds[:], l.kind))
	need := loadNeeds[l.Kind]
	known, chosen := slices.Clone(need.own), false
	var wants []string
	for _, set := range need.keys {
		known = append(known, set...)
		wants = append(wants, strings.Join(set, ", "))
		chosen = chosen || !slices.ContainsFunc(set, func(key string) bool { return !dec.has(join(path, key)) })
	}
	for _, key := range []string{"count", "current", "power", "voltage", "resistance", "peak", "hold", "peak_time", "pump_current", "port", "without"} {
		if at := join(path, key); dec.has(at) && !slices.Contains(known, key) {
			dec.fail(at, dec.given[at], "is no key of a load of the kind %s; want %s", l.kind, strings.Join(wants, ", or "))
			return false
		}
	}
	if !chosen {
		dec.fail(path, dec.given[path], "lacks %s, which a load of the kind %s is known by", strings.Join(wants, ", or "), l.kind)
		return false
	}
	if dec.has(path+".resistance") && dec.has(path+".peak") {
		dec.fail(path+".peak", dec.given[path+".peak"], "is given beside resistance; want resistance, or peak, hold and peak_time")
		return false
	}
	if at := path + ".hold"; dec.has(path+".peak") && l.Hold > l.Peak {
		dec.fail(at, dec.given[at], "is %s; want no more than peak, %s", shown(dec.given[at].text), dec.inUnitOf(at, units.Current, l.Peak))
		return false
	}
	l.EngineOff = l.without == engineStops
	return true
}

// lacking says which part the trim has not that a load stands for: one trim may take away what another has, and keep its wires. It says nothing where the
// part is there, or has a message of its own.
func (d *draft) lacking(dec *decoder, l *loadDraft) string {
	lacks := ""
	if section := loadNeeds[l.Kind].section; section != "" && !dec.has(section) {
		lacks = section
	} else if l.Kind == MainPumps && !dec.has("injection") {
		lacks = "injection, whose rail says what the pumps add"
	} else if c := d.Trim.Control; l.Kind == BoostValve && c != nil {
		l.Closing = l.port == portClosing || l.port == "" && c.Opening == nil
		switch {
		case l.Closing && c.Closing == nil:
			lacks = "wastegate.control.closing"
		case !l.Closing && c.Opening == nil:
			lacks = "wastegate.control.opening"
		}
	}
	if lacks == "" {
		return ""
	}
	return "there is no " + lacks
}

// finishCount settles how many of the engine's parts are on a load. It says why there is none left for it.
func (d *draft) finishCount(dec *decoder, l *loadDraft, path string) (why string, ok bool) {
	all := d.parted(l.Kind)
	if all == 0 {
		return "", !dec.bad["engine"] // whose part has its message
	}
	if !slices.Contains(loadNeeds[l.Kind].own, "count") {
		l.Count = 1
		return "", true
	}
	at := path + ".count"
	before, others, open, met := 0, 0, "", false // parts on loads of the kind: on those before it, on all others; one before it that takes the rest
	for _, o := range d.wiring.loads {
		counted := dec.has("wiring.loads." + o.Name + ".count")
		switch {
		case o == l:
			met = true
		case o.kind != l.kind:
		case counted:
			others += o.count
			if !met {
				before += o.count
			}
		case !met:
			open = o.Name
		}
	}
	section, given := loadNeeds[l.Kind].section, dec.given[at]
	switch {
	case !dec.has(at) && open != "":
		dec.fail(path, dec.given[path], "lacks count: the load %s is of the same kind and takes all that are on no other", open)
		return "", false
	case !dec.has(at):
		l.Count = all - others
	case l.count > all:
		dec.fail(at, given, "is %s; the engine has %d", shown(given.text), all)
		return "", false
	case before+l.count > all && before < all:
		dec.fail(at, given, "is %s, and the loads of the kind before it have %d; the engine has %d", shown(given.text), before, all)
		return "", false
	case before < all:
		l.Count = l.count
	}
	if l.Count <= 0 {
		return fmt.Sprintf("%s has %d, which are on other loads", section, all), true
	}
	return "", true
}

// parted returns how many parts of a kind the engine has; 0 where that is not known, 1 for what is not counted.
func (d *draft) parted(k LoadKind) int {
	pumps := func(s supply.Source) int {
		switch s := s.(type) {
		case nil:
			return 0
		case supply.Parallel:
			return len(s)
		case supply.Series:
			return len(s)
		}
		return 1
	}
	switch k {
	case PrimaryInjectors, SecondaryInjectors:
		if d.Trim.Injection == nil {
			return 0
		}
		set := d.Trim.Injection.Staging.Primary
		if k == SecondaryInjectors {
			set = d.Trim.Injection.Staging.Secondary
		}
		return set.PerCylinder * d.Engine.Cylinders
	case Coils:
		if d.Trim.Ignition == nil || d.Trim.Ignition.Coil == nil {
			return 0
		}
		return max(1, d.Engine.Cylinders/d.Trim.Ignition.Coil.SparksPerCycle)
	case MainPumps, LiftPumps:
		switch {
		case d.Trim.Supply == nil:
			return 0
		case k == MainPumps:
			return pumps(d.Trim.Supply.System.Pumps)
		case d.Trim.Supply.Lift == nil:
			return 0
		}
		return pumps(d.Trim.Supply.Lift.Pumps)
	}
	return 1
}

// finishDraw settles what a load draws, at work and when it is switched on.
func (d *draft) finishDraw(dec *decoder, l *loadDraft, path string) {
	inrush, why := 1.0, ""
	switch l.Kind {
	case FanLoad, MainPumps, LiftPumps:
		inrush, why = motorInrush, "a motor at rest; common practice, no source"
	case LampLoad:
		inrush, why = filamentInrush, "a cold filament; common practice, no source"
	}
	if at := path + ".inrush"; !dec.has(at) {
		if l.Inrush = inrush; inrush > 1 {
			dec.standIn(at, strconv.FormatFloat(inrush, 'g', -1, 64), why)
		}
	}
	if at := path + ".inrush_time"; !dec.has(at) {
		if l.InrushTime, _ = units.Parse(inrushTime, units.Time); l.Inrush > 1 {
			dec.standIn(at, inrushTime, "a motor that spins up, a filament that gets hot; common practice, no source")
		}
	}
	if at := path + ".voltage"; !dec.has(at) {
		l.at, _ = units.Parse(ratedVoltage, units.Voltage)
		if l.Kind == FanLoad || l.Kind == LampLoad || l.power > 0 {
			dec.standIn(at, ratedVoltage, "as such parts are rated; common practice, no source")
		}
	}
	switch l.Kind {
	case SteadyLoad, FanLoad, LampLoad:
		l.Law = wiring.Law{Current: l.current, Voltage: l.at}
		if dec.has(path + ".power") {
			l.Law.Current = l.power / l.at
		}
		switch {
		case l.Kind == FanLoad:
			l.Law.Exponent = wiring.Fan
		case l.Kind == LampLoad:
			l.Law.Exponent = wiring.Filament
		case dec.has(path + ".power"):
			l.Law.Exponent = wiring.ConstantPower
		default:
			l.Law.Exponent = wiring.ConstantCurrent
		}
	}
}

// putModes checks the modes against the loads.
func (d *draft) putModes(dec *decoder, out *Wiring) {
	var loads []string
	for _, l := range d.wiring.loads {
		loads = append(loads, l.Name)
	}
	var modes []string
	for _, m := range d.wiring.modes {
		path := "wiring.modes." + m.Name
		modes = append(modes, m.Name)
		for _, name := range m.On {
			if !slices.Contains(loads, name) {
				dec.fail(path+".on", dec.given[path+".on"], "%s", noSuchName(name, "load", loads))
			}
		}
		if at := path + ".speed"; dec.ok(at) && dec.ok("engine.limiter") && m.Speed > d.Engine.Limiter*(1+1e-9) {
			dec.fail(at, dec.given[at], "is %s; want no more than engine.limiter, %s", shown(dec.given[at].text), dec.inUnitOf(at, units.Speed, d.Engine.Limiter))
		}
		out.Modes = append(out.Modes, m.Mode)
	}
	if len(out.Modes) == 0 {
		return // which has its message
	}
	at := "wiring.full_load"
	i := slices.Index(modes, d.wiring.fullLoad)
	switch {
	case dec.has(at) && i < 0:
		dec.fail(at, dec.given[at], "%s", noSuchName(d.wiring.fullLoad, "mode", modes))
		return
	case !dec.has(at):
		i = 0
		for k, m := range out.Modes {
			if m.Speed > out.Modes[i].Speed {
				i = k
			}
		}
		dec.standIn(at, modes[i], "the mode with the highest engine speed")
	}
	out.FullLoad = &out.Modes[i]
}

// AlternatorOutput returns the highest current of the alternator, A, at an engine speed, rad/s, and whether the alternator's own speed, by its pulley, lies
// outside of its table. Below the table it is 0: an alternator that is turned too slowly gives nothing. Above it is held.
func (w *Wiring) AlternatorOutput(speed float64) (current float64, outside bool) {
	if w.Alternator == nil || speed == 0 {
		return 0, false
	}
	speed *= w.Alternator.Pulley
	current, outside = w.Alternator.Output.At(speed)
	if lo, _ := w.Alternator.Output.Span(); outside && speed < lo {
		return 0, true
	}
	return current, outside
}

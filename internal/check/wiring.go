package check

import (
	"fmt"
	"math"
	"slices"

	"bellmouth/internal/run"
	"bellmouth/internal/units"
)

// The ids of the findings on the wiring.
const (
	wiringSettles  = "wiring-settles"
	channelCurrent = "channel-current"
	channelInrush  = "channel-inrush"
	fuseLoad       = "fuse-load"
	fuseRating     = "fuse-rating"
	wireCurrent    = "wire-current"
	wireDrop       = "wire-drop"
	batteryBalance = "battery-balance"
	arrivesLess    = "voltage-below-stated"
)

// StatedSlack is by how much less than the voltage that the spec states may arrive: a tenth of a volt moves a dead time by some hundredths of a
// millisecond. Common practice, no source.
const StatedSlack = 0.2

// Wiring returns the findings on what feeds the electrical loads: in the modes of the spec, and at the run's full loads.
func Wiring(c *run.Circuits, r *run.Run) []Finding {
	modes, full := c.Modes(), c.FullLoads()
	unsettled := Finding{ID: wiringSettles, What: "wiring settles", Speed: r.Trim.Wiring.FullLoad.Speed, Value: math.NaN(), Limit: math.NaN()}
	for _, all := range [][]run.Circuit{modes, full} {
		for i := range all {
			if at := &all[i]; at.Err != nil {
				unsettled.Speed, unsettled.Verdict, unsettled.Remark = at.Speed, Fail, "mode "+at.Mode.Name+", "+at.Err.Error()
				return []Finding{unsettled}
			}
		}
	}
	if r.LoopErr != nil {
		unsettled.Verdict, unsettled.Remark = Fail, r.LoopErr.Error()
		return []Finding{unsettled}
	}
	all := slices.Concat(modes, full)
	fs := channels(c.Channels(all), r)
	if f, ok := balance(c.Balances(modes)); ok {
		fs = append(fs, f)
	}
	return append(fs, below(c, full, r)...)
}

// channels judges the channels: each figure at the channel where it is worst.
func channels(all []run.ChannelLoad, r *run.Run) []Finding {
	w := r.Trim.Wiring
	worst := map[string]*Finding{}
	keep := func(f Finding, c *run.ChannelLoad, where string) {
		f = f.judged()
		f.Channel = "channel " + c.Name
		if c.Feed {
			f.Channel = "the feed"
		}
		f.Remark = f.Channel + ", mode " + where
		if old := worst[f.ID]; old == nil || f.Value/f.Limit > old.Value/old.Limit {
			worst[f.ID] = &f
		}
	}
	for i := range all {
		c := &all[i]
		if c.Mode == nil {
			continue
		}
		current := c.State.RMS()
		switch {
		case c.Feed:
		case c.Fuse > 0:
			keep(Finding{ID: fuseLoad, What: "load of the fuse", Speed: c.Speed, Kind: units.Fraction, Value: current / c.Fuse, Limit: w.FuseLoad}, c, c.Mode.Name)
			keep(Finding{ID: fuseRating, What: "fuse protects the wire", Speed: c.Speed, Kind: units.Current, Value: c.Fuse, Limit: c.Lasting}, c, c.Mode.Name)
		default:
			keep(Finding{ID: channelCurrent, What: "current of the channel", Speed: c.Speed, Kind: units.Current, Value: current, Limit: c.Limit}, c, c.Mode.Name)
			keep(Finding{ID: channelInrush, What: "inrush of the channel", Speed: c.StartAt.Speed, Kind: units.Current, Value: c.Inrush,
				Limit: c.Channel.Peak}, c, c.StartAt.Name)
		}
		keep(Finding{ID: wireCurrent, What: "current of the wire", Speed: c.Speed, Kind: units.Current, Value: current, Limit: c.Carries}, c, c.Mode.Name)
		if c.Feed {
			continue // its drop is in that of every channel
		}
		keep(Finding{ID: wireDrop, What: "voltage lost in wires", Speed: c.DropAt.Speed, Kind: units.Fraction, Value: c.Share,
			Limit: w.LargestDrop}, c, c.DropAt.Name)
	}
	var fs []Finding
	for _, id := range []string{channelCurrent, channelInrush, fuseLoad, fuseRating, wireCurrent, wireDrop} {
		if f := worst[id]; f != nil {
			fs = append(fs, *f)
		}
	}
	return fs
}

// balance judges the battery in the mode in which it lasts least, by the time that the mode lasts.
func balance(all []run.Balance) (f Finding, ok bool) {
	var worst *run.Balance
	room := func(b *run.Balance) float64 {
		if b.Mode.Time > 0 {
			return b.Lasts / b.Mode.Time
		}
		if b.Negative() {
			return -1 / b.Lasts
		}
		return math.Inf(1)
	}
	for i := range all {
		if b := &all[i]; worst == nil || room(b) < room(worst) {
			worst = b
		}
	}
	if worst == nil {
		return Finding{}, false
	}
	f = Finding{ID: batteryBalance, What: "battery lasts for the mode", Speed: worst.Speed, Kind: units.Duration, Value: worst.Lasts,
		Limit: worst.Mode.Time, Floor: true,
		Remark: "mode " + worst.Mode.Name}
	switch {
	case worst.Negative():
		f.Verdict = Fail
		if worst.Mode.Time == 0 {
			f.Limit = math.NaN()
			f.Remark += ", which has no end"
		}
	case math.IsInf(worst.Lasts, 1):
		f.Value, f.Limit = math.NaN(), math.NaN()
		f.Remark += ": the battery is charged"
	}
	return f, true
}

// below notes where less voltage arrives at full load than the spec states, which dead time, dwell and pump flow are computed with.
func below(c *run.Circuits, full []run.Circuit, r *run.Run) []Finding {
	worst := run.Arrival{}
	var at *run.Circuit
	for i := range full {
		for _, a := range c.Arrivals(&full[i]) {
			if at == nil || a.Stated-a.Voltage > worst.Stated-worst.Voltage {
				worst, at = a, &full[i]
			}
		}
	}
	if at == nil {
		return nil
	}
	f := Finding{ID: arrivesLess, What: "voltage that arrives at full load", Speed: at.Speed, Kind: units.Voltage, Value: worst.Voltage,
		Limit: worst.Stated, Floor: true,
		Remark: "load " + worst.Load + ", as " + worst.Key + " says"}
	if !worst.Given {
		f.Remark = "load " + worst.Load + ", as in the mode " + r.Trim.Wiring.FullLoad.Name
	}
	if !(f.Value >= f.Limit-StatedSlack) {
		f.Verdict = Note
	}
	return []Finding{f}
}

func doWiring(_ *Review, f *Finding) string {
	return "Shorten or thicken the wire, or take loads off: the wiring has no voltage at which it works at " + rpm(f.Speed) + "."
}

func doChannel(_ *Review, f *Finding) string {
	return fmt.Sprintf("Share the loads between two channels: %s carries %s of %s.", f.Channel, shown(f.Value, f.Kind), shown(f.Limit, f.Kind))
}

func doInrush(_ *Review, f *Finding) string {
	return fmt.Sprintf("Switch the loads on one after the other, or share them between two channels: %s starts with %s of %s.", f.Channel, shown(f.Value,
		f.Kind), shown(f.Limit, f.Kind))
}

func doFuseRating(_ *Review, f *Finding) string {
	return fmt.Sprintf("Fit a smaller fuse or lay a thicker wire: that of %s carries %s continuously, and the fuse lets %s through.",
		f.Channel, shown(f.Limit, f.Kind), shown(f.Value, f.Kind))
}

func doFuse(_ *Review, f *Finding) string {
	return fmt.Sprintf("Fit a larger fuse, if the wire bears it, or share the loads: that of %s is loaded with %s of %s.",
		f.Channel, shown(f.Value, f.Kind), shown(f.Limit, f.Kind))
}

func doWire(_ *Review, f *Finding) string {
	return fmt.Sprintf("Lay a thicker wire: that of %s has %s and carries %s.", f.Channel, shown(f.Value, f.Kind), shown(f.Limit, f.Kind))
}

func doDrop(_ *Review, f *Finding) string {
	return fmt.Sprintf("Lay a thicker or a shorter wire: those of %s and the feed lose %s of %s.", f.Channel, shown(f.Value, f.Kind), shown(f.Limit, f.Kind))
}

func doBattery(_ *Review, f *Finding) string {
	if math.IsNaN(f.Limit) {
		return fmt.Sprintf("Take loads off or fit a larger alternator: the battery lasts %s at %s.", shown(f.Value, f.Kind), rpm(f.Speed))
	}
	return fmt.Sprintf("Take loads off or fit a larger battery: it lasts %s of %s at %s.", shown(f.Value, f.Kind), shown(f.Limit, f.Kind), rpm(f.Speed))
}

func doArrives(_ *Review, f *Finding) string {
	return fmt.Sprintf("Lay a thicker wire, or state the voltage that arrives: %s instead of %s at %s.", shown(f.Value, f.Kind), shown(f.Limit, f.Kind),
		rpm(f.Speed))
}

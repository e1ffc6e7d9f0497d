package wiring

import (
	"fmt"
	"math"
)

// A Channel is what feeds its loads by one wire.
type Channel struct {
	Name  string
	Wire  Wire
	Loads []Load
}

// A Network is the way of the current from the source to the loads.
type Network struct {
	Source   Source
	Feed     *Wire // from the battery to where the channels begin; nil: no loss
	Channels []Channel
}

// A LoadState is what a load has and takes.
type LoadState struct {
	Voltage float64 // that arrives while it draws, V
	Drop    float64 // from the source, V
	Draw
}

// A ChannelState is what a channel carries.
type ChannelState struct {
	Mean   float64 // A
	Peak   float64 // all peaks of its loads at once, A
	While  float64 // on the average while a load draws, at the load where that is most, A
	Square float64 // mean of the square of the current, A²
	Drop   float64 // in its wire with the mean current, V
	Lost   float64 // in its wire, W
	Loads  []LoadState
}

// RMS returns the current that heats the wire as this one does, A.
func (c *ChannelState) RMS() float64 { return math.Sqrt(c.Square) }

// A NetworkState is how a network settles.
type NetworkState struct {
	Supply   Supply  // what alternator and battery do
	Bus      float64 // voltage where the channels begin, V
	Lost     float64 // in the feed, W
	Channels []ChannelState
}

// A NetworkError reports a network that does not settle.
type NetworkError struct {
	Channel string // empty: all of them by the feed and the source
	Reason  string
}

func (e *NetworkError) Error() string {
	if e.Channel == "" {
		return "source: " + e.Reason
	}
	return "channel " + e.Channel + ": " + e.Reason
}

// How well voltages are known, V, and after how many steps there is no use in going on.
const (
	settled    = 1e-12 // by that of the source without load
	leastShare = 1e-3  // of it, below which nothing is left
	maxSteps   = 2000
)

// Settle returns the voltages at which currents and drops agree.
//
//	Ul = U − Rf Σ Ī − Rc (Σ of the other loads' Ī on the channel + Wl),  Wl the load's own current while it draws
//
// U is the source's, Rf of the feed, Rc of the channel's wire. The mean currents flow through the feed, which battery and alternator keep even; in a
// channel's wire the load's own pulses meet its resistance, and those of other loads fall on them by chance. So the mean power lost in a wire is
// Rc Σ Ī W, and what arrives with what is lost is what the source gives. Source: Kirchhoff's laws.
//
// A wire that takes all the voltage there is, a load that does not work at what arrives, and voltages that do not settle are a *NetworkError.
func (n *Network) Settle() (NetworkState, error) {
	var out NetworkState
	out.Channels = make([]ChannelState, len(n.Channels))
	volts := make([][]float64, len(n.Channels))
	open := n.Source.At(0).Voltage
	for i := range n.Channels {
		volts[i] = make([]float64, len(n.Channels[i].Loads))
		out.Channels[i].Loads = make([]LoadState, len(n.Channels[i].Loads))
		for k := range volts[i] {
			volts[i][k] = open
		}
	}
	step, last := 1.0, math.Inf(1)
	for range maxSteps {
		off, err := n.follow(volts, &out)
		if err != nil {
			return NetworkState{}, err
		}
		if off <= settled*open {
			return out, nil
		}
		if off > 0.9*last { // the wires swing the voltage more than the loads steady it
			step = math.Max(step/2, 1.0/64)
		}
		last = off
		for i := range volts {
			for k := range volts[i] {
				v := &volts[i][k]
				*v = math.Max(*v+step*(out.Channels[i].Loads[k].Voltage-*v), *v/2)
				if *v < leastShare*open {
					return NetworkState{}, n.taken(&out, i, k)
				}
			}
		}
	}
	return NetworkState{}, n.apart(volts, &out)
}

// taken says that nothing is left for a load.
func (n *Network) taken(out *NetworkState, i, k int) error {
	if out.Bus <= leastShare*n.Source.At(0).Voltage {
		return &NetworkError{"", "the loads take all of its voltage before it reaches the channels"}
	}
	return &NetworkError{n.Channels[i].Name, fmt.Sprintf("its wire takes all of the %.2f V, and nothing is left for %s", out.Bus, n.Channels[i].Loads[k].Name)}
}

// apart says where currents and voltages agree least.
func (n *Network) apart(volts [][]float64, out *NetworkState) error {
	e := NetworkError{}
	worst := 0.0
	for i := range volts {
		for k := range volts[i] {
			if off := math.Abs(out.Channels[i].Loads[k].Voltage - volts[i][k]); off >= worst {
				worst, e.Channel = off, n.Channels[i].Name
			}
		}
	}
	e.Reason = fmt.Sprintf("currents and voltages do not settle: they are %.3g V apart", worst)
	return &e
}

// follow computes what the loads take at the voltages, and the voltages that this leaves them. It returns by how much those differ at most.
func (n *Network) follow(volts [][]float64, out *NetworkState) (float64, error) {
	total := 0.0
	for i := range n.Channels {
		c, s := &n.Channels[i], &out.Channels[i]
		*s = ChannelState{Loads: s.Loads}
		for k := range c.Loads {
			d, err := c.Loads[k].Draw(volts[i][k])
			if err != nil {
				return 0, &NetworkError{c.Name, fmt.Sprintf("%s at %.2f V: %s", c.Loads[k].Name, volts[i][k], err)}
			}
			if !(d.Mean >= 0 && d.While >= 0 && d.Peak >= 0) || math.IsInf(d.Mean+d.While+d.Peak, 1) {
				return 0, &NetworkError{c.Name, fmt.Sprintf("%s draws no current that can be computed at %.2f V", c.Loads[k].Name, volts[i][k])}
			}
			s.Loads[k].Draw = d
			s.Mean += d.Mean
			s.Peak += d.Peak
		}
		total += s.Mean
	}
	out.Supply = n.Source.At(total)
	feed := 0.0
	if n.Feed != nil {
		feed = n.Feed.Resistance()
	}
	out.Bus, out.Lost = out.Supply.Voltage-feed*total, feed*total*total
	off := 0.0
	for i := range n.Channels {
		s := &out.Channels[i]
		r := n.Channels[i].Wire.Resistance()
		s.Drop = r * s.Mean
		for k := range s.Loads {
			l := &s.Loads[k]
			while := s.Mean - l.Mean + l.While
			s.Square += l.Mean * while
			s.While = math.Max(s.While, while)
			l.Voltage = out.Bus - r*while
			l.Drop = out.Supply.Voltage - l.Voltage
			off = math.Max(off, math.Abs(l.Voltage-volts[i][k]))
		}
		s.Lost = r * s.Square
	}
	return off, nil
}

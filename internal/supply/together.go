package supply

import (
	"fmt"
	"math"

	"bellmouth/internal/numeric"
)

// Parallel is pumps side by side, all against the same pressure: their flows add up. A pump past its shut-off gives
// nothing and, having a check valve, takes nothing.
type Parallel []Source

// Series is pumps one behind the other, all with the same flow: their pressures add up. No pump is pushed past its free
// flow, that against no pressure; one that would be is the end of what is known.
type Series []Source

func (s Parallel) under(voltage float64) (characteristic, error) {
	parts, err := all(s, voltage)
	if err != nil {
		return nil, err
	}
	out := &sideBySide{parts: parts, end: math.Inf(1)}
	var highest float64
	for _, c := range parts {
		lo, hi, shut := c.span()
		out.start = math.Max(out.start, lo)
		highest = math.Max(highest, hi)
		if !shut {
			out.end = math.Min(out.end, hi)
		}
	}
	if math.IsInf(out.end, 1) {
		out.end, out.shut = highest, true
	}
	if !(out.start < out.end) {
		return nil, &RangeError{"pressure rise of the pumps side by side", "Pa", out.end, out.start, out.end}
	}
	return out, nil
}

func (s Series) under(voltage float64) (characteristic, error) {
	parts, err := all(s, voltage)
	if err != nil {
		return nil, err
	}
	out := &oneBehindTheOther{parts: parts, most: math.Inf(1), shut: true}
	for _, c := range parts {
		lo, hi, _ := c.span()
		out.most = math.Min(out.most, c.flow(lo))
		out.least = math.Max(out.least, c.flow(hi))
	}
	if !(out.least < out.most) {
		return nil, &RangeError{"flow of the pumps one behind the other", "m³/s", out.least, out.least, out.most}
	}
	out.shut = out.least == 0
	if out.start, err = out.rise(out.most); err != nil {
		return nil, err
	}
	out.end, err = out.rise(out.least)
	return out, err
}

func all(sources []Source, voltage float64) ([]characteristic, error) {
	if len(sources) == 0 {
		return nil, fmt.Errorf("there is no pump")
	}
	out := make([]characteristic, len(sources))
	for i, s := range sources {
		c, err := start(s, voltage)
		if err != nil {
			if len(sources) > 1 {
				err = fmt.Errorf("pump %d of %d: %w", i+1, len(sources), err)
			}
			return nil, err
		}
		out[i] = c
	}
	return out, nil
}

type sideBySide struct {
	parts      []characteristic
	start, end float64
	shut       bool
}

func (p *sideBySide) span() (lowest, highest float64, shut bool) { return p.start, p.end, p.shut }

func (p *sideBySide) flow(rise float64) float64 {
	sum := 0.0
	for _, c := range p.parts {
		sum += c.flow(rise)
	}
	return sum
}

func (p *sideBySide) rise(flow float64) (float64, error) { return riseOf(p, flow) }

func (p *sideBySide) notes(rise float64) Note {
	var n Note
	for _, c := range p.parts {
		n |= c.notes(rise)
	}
	return n
}

type oneBehindTheOther struct {
	parts       []characteristic
	least, most float64 // flow
	start, end  float64 // rise
	shut        bool
}

func (s *oneBehindTheOther) span() (lowest, highest float64, shut bool) {
	return s.start, s.end, s.shut
}

func (s *oneBehindTheOther) rise(flow float64) (float64, error) {
	sum := 0.0
	for _, c := range s.parts {
		rise, err := c.rise(flow)
		if err != nil {
			return 0, err
		}
		sum += rise
	}
	return sum, nil
}

// flow solves the sum of the rises for the flow they share.
func (s *oneBehindTheOther) flow(rise float64) float64 {
	switch {
	case rise <= s.start:
		return s.most
	case rise >= s.end:
		return s.least
	}
	root, err := numeric.FindRoot(func(flow float64) float64 {
		sum, err := s.rise(flow)
		if err != nil {
			return math.NaN()
		}
		return sum - rise
	}, s.least, s.most, flowTolerance)
	if err != nil {
		return math.NaN()
	}
	return root.X
}

func (s *oneBehindTheOther) notes(rise float64) Note {
	flow := s.flow(rise)
	var n Note
	for _, c := range s.parts {
		if r, err := c.rise(flow); err == nil {
			n |= c.notes(r)
		}
	}
	return n
}

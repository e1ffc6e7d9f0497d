package wiring

import (
	"fmt"
	"math"
)

// fuses are the ratings of blade fuses, A: the usual ones of ISO 8820-3, from memory.
var fuses = [...]float64{1, 2, 3, 4, 5, 7.5, 10, 15, 20, 25, 30, 35, 40, 50, 60, 70, 80, 100}

// A Protection is what a fuse or a channel has to let pass, and what it has to protect.
type Protection struct {
	Continuous float64 // that flows continuously: root of the mean square, A
	Peak       float64 // that comes back again and again, A
	Inrush     float64 // when loads are switched on, A
	InrushTime float64 // that it lasts, s
	Load       float64 // share of a rating that it is loaded with continuously, above 0 to 1
	Wire       float64 // current that the wire carries continuously, A
	Area       float64 // of the wire, m²
}

// A ProtectionError says why no rating or setting suits.
type ProtectionError struct{ Reason string }

func (e *ProtectionError) Error() string { return e.Reason }

// FuseFor returns the smallest rating, A, that carries the continuous current at no more than the share of its rating, and protects the wire: not
// above what that carries. Source: the share is common practice with a weak source, ratings from memory. Fuses stand an inrush of a few times their
// rating for tenths of a second, by their own curves, which are not computed here.
func (p *Protection) FuseFor() (float64, error) {
	for _, rating := range fuses {
		if rating*p.Load < p.Continuous {
			continue
		}
		if rating > p.Wire {
			return 0, &ProtectionError{fmt.Sprintf("the smallest rating that carries %.1f A is %.3g A, and the wire carries %.1f A", p.Continuous, rating, p.Wire)}
		}
		return rating, nil
	}
	return 0, &ProtectionError{fmt.Sprintf("no fuse up to %.0f A carries %.1f A", fuses[len(fuses)-1], p.Continuous)}
}

// A Setting is when a channel switches off, and when it tries again.
type Setting struct {
	Trip  float64 // current, A
	Delay float64 // for which it has to flow, s; 0: at once
	Retry float64 // wait before the channel is switched on again, s
}

// What a setting keeps clear of: common practice, no source.
const (
	aboveInrush = 1.1  // trip current over the inrush or the peaks
	beyondStart = 1.5  // delay over the inrush's time
	leastRetry  = 0.25 // s, in which a motor stops and an arc goes out
)

// SettingFor returns the setting of a channel that bears a current continuously, its limit, and up to another, its peak limit, for as long as an inrush
// lasts.
//
// The trip current is the lowest that carries the continuous current at no more than the share and lies a tenth above the peaks; it is not above
// the channel's limit and what the wire carries. Where it can lie a tenth above the inrush too, the channel switches off at once. Else the delay is
// half as long again as the inrush, if the channel's peak limit is not below that and the wire, hot from use, bears the peak limit for as long:
//
//	Imax² t ≤ k² A²,  k of PVC from 70 °C to 160 °C, which is less than a thin wall's
//
// The wait before the next try keeps the mean of the square of the current, with the highest that the channel lets through, at what the wire carries:
//
//	twait = t (Imax²/Iw² − 1),  at least 0.25 s
//
// so that any number of tries does not heat the wire further. Source: IEC 60364-4-43 for k; margins are common practice, no source.
func (p *Protection) SettingFor(limit, peakLimit float64) (Setting, error) {
	most, by := limit, "the channel's limit"
	if p.Wire < most {
		most, by = p.Wire, "what the wire carries"
	}
	low, why := p.Continuous/p.Load, "for the continuous current"
	if x := aboveInrush * p.Peak; x > low {
		low, why = x, "above the peaks"
	}
	if low > most {
		return Setting{}, &ProtectionError{fmt.Sprintf("%s %.1f A or more is wanted, and %s is %.1f A", why, low, by, most)}
	}
	if x := aboveInrush * p.Inrush; x <= most {
		return Setting{Trip: math.Max(low, x), Retry: leastRetry}, nil
	}
	delay := beyondStart * p.InrushTime
	if p.Inrush > peakLimit {
		return Setting{}, &ProtectionError{fmt.Sprintf("the inrush is %.1f A, above the %.1f A of %s, and the channel bears no more than %.1f A for a moment",
			p.Inrush, most, by, peakLimit)}
	}
	if bears := adiabatic(hottest[PVC], fault) * p.Area; peakLimit*peakLimit*delay > bears*bears {
		return Setting{}, &ProtectionError{fmt.Sprintf("the wire does not bear the %.1f A that the channel lets through for %.2g s", peakLimit, delay)}
	}
	over := peakLimit / p.Wire
	return Setting{Trip: low, Delay: delay, Retry: math.Max(leastRetry, delay*(over*over-1))}, nil
}

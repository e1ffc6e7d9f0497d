package sheet

import (
	"bellmouth/internal/check"
	"bellmouth/internal/units"
	"bellmouth/internal/wastegate"
)

// Findings returns what the checks have to say of the actuator; none without one.
func (g *Gate) Findings() []check.Finding {
	if g.system == nil {
		return nil
	}
	var force, travel, duty *gateRow
	for i := range g.rows {
		o := &g.rows[i]
		if o.Err != nil || o.holdErr != nil {
			continue
		}
		h := &o.holding
		if force == nil || h.ForceMargin < force.holding.ForceMargin {
			force = o
		}
		if travel == nil || h.TravelMargin < travel.holding.TravelMargin {
			travel = o
		}
		if o.regulates() && (duty == nil || h.Authority < duty.holding.Authority) {
			duty = o
		}
	}
	var fs []check.Finding
	add := func(o *gateRow, what string, kind units.Kind, value, limit float64, bad check.Verdict, slack float64, remark string) {
		f := check.Finding{What: what, Speed: o.Speed, Kind: kind, Value: value, Limit: limit, Floor: true}
		if !(f.Margin() >= -slack) {
			f.Verdict, f.Remark = bad, remark
		}
		fs = append(fs, f)
	}
	if force != nil {
		add(force, "wastegate actuator force to spare", units.Force, force.holding.ForceMargin, 0, check.Fail, forceSlack, force.shortMeans())
	}
	if travel != nil {
		add(travel, "wastegate lift that the actuator has left", units.Length, travel.holding.TravelMargin, 0, check.Fail, 1e-8, travel.shortMeans())
	}
	if duty != nil {
		add(duty, "boost control duty left to its nearer end", units.Fraction, duty.holding.Authority, littleDuty, check.Note, 0, "little is left to regulate with")
	}
	return fs
}

// regulates reports whether the duty has somewhere to go from where it holds the point.
func (o *gateRow) regulates() bool {
	return o.holding.Short == wastegate.NoSide && o.holding.Authority >= 0
}

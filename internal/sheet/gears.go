package sheet

import (
	"errors"

	"bellmouth/internal/formula"
	"bellmouth/internal/run"
	"bellmouth/internal/table"
)

// dutyByGear returns the fields of the duty that holds the boost of each target, the one that drives the valves first; none where no pulsed valve holds it.
func (t *Targets) dutyByGear(targets []*run.Target) ([]table.Field[*run.Target], error) {
	duties, ok, err := t.GearDuties(targets)
	if err != nil || !ok {
		return nil, err
	}
	of := make(map[*run.Target]*run.DutyCell, len(targets))
	for i, p := range targets {
		of[p] = duties[i]
	}
	known := targetKnown.And(func(p *run.Target) error {
		c := of[p]
		switch {
		case c == nil:
			return errors.New(heldBy(p) + ", with the duty at the end that opens the wastegate furthest")
		case p.IsFullLoad():
			return dutyKnown(c)
		}
		return dutyHeld(c)
	})
	gate := &Gate{run: t.run}
	var fields []table.Field[*run.Target]
	for _, f := range gate.dutyFields(dutyKnown) {
		g := known.Cells(f.Key, f.Title, f.Quantity, func(p *run.Target) table.Cell { return f.Get(of[p]) })
		g.Detail = f.Detail
		fields = append(fields, g)
	}
	return fields, nil
}

// gearsEntries explain the columns of road speed.
func gearsEntries() []formula.Entry {
	const noSlip = "no slip: under full thrust the wheels turn some per cent faster"
	return []formula.Entry{
		{
			Key: "limiter_road_speed_m_s", Title: "at limiter",
			Meaning: "Road speed at the limiter in the gear.",
			Formula: "v = ω r/(gear × final), ω of the limiter, r the rolling radius", Source: "kinematics of a rolling wheel", Range: noSlip,
		},
		{
			Key: "road_speed_m_s", Title: "road speed",
			Meaning: "Road speed at the engine speed in the gear.",
			Formula: "v = ω r/(gear × final), r the rolling radius", Source: "kinematics of a rolling wheel", Range: noSlip,
		},
		{
			Key: "gear_throttled", Title: "throttled",
			Meaning: "Whether the gear takes less than the boost control leaves with the wastegate as far open as it gets it, so that the throttle has to close.",
			Formula: "pm < pm(spring-only boost), or wastegate wide open without an actuator", Source: ours, Range: "steady",
		},
	}
}

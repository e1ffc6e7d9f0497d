package run

import (
	"bellmouth/internal/airpath"
	"bellmouth/internal/friction"
	"bellmouth/internal/spec"
)

// A Friction is what the parts of the engine take at one speed, with the venue's pressure in the manifold.
type Friction struct {
	Speed float64 // rad/s
	friction.Parts
	Notes airpath.Note
}

// FrictionOver returns what the parts of a trim's engine take at engine speeds, rad/s. ok is false where its model does not tell them apart.
func FrictionOver(trim *spec.Trim, speeds []float64) (rows []Friction, ok bool) {
	e := &trim.Engine
	if e.Friction.Components == nil || e.Valves == nil {
		return nil, false
	}
	law, err := e.Friction.For(friction.Engine{Cylinder: e.Cylinder, Cylinders: e.Cylinders, Valves: *e.Valves})
	if err != nil {
		return nil, false // not from a spec, which refuses such parts
	}
	rows = make([]Friction, len(speeds))
	for i, n := range speeds {
		at := friction.State{Speed: n, ManifoldPressure: trim.Venue.Pressure, AmbientPressure: friction.StandardPressure}
		rows[i] = Friction{Speed: n, Notes: airpath.FrictionNotes(law.Beyond(at))}
		rows[i].Parts, _ = law.Parts(at)
	}
	return rows, true
}

// Package manifold computes how well an inlet manifold feeds the cylinders: the speeds its runners are tuned to, what the
// air loses on the way, how evenly the cylinders share it and what unevenness costs.
//
// A runner is tuned as a pipe that is closed at the valve and open at the plenum, or, while the valve is open, as the neck
// of a resonator whose vessel is the cylinder. Both are linear acoustics without flow, friction or the neighbours' waves:
// they place a peak within about a tenth of its speed and say nothing of its height.
package manifold

import (
	"fmt"
	"math"

	"bellmouth/internal/units"
)

// A Mouth is the way a runner opens into the plenum; it decides how far beyond its end the air moves along.
type Mouth int

// The mouths a runner can have.
const (
	Flush     Mouth = iota // the runner ends flush with the plenum's wall
	Standing               // a plain pipe that stands free in the plenum
	Uncounted              // nothing is added: the length given is the acoustic one
)

// EndCorrection returns how much longer than it is a pipe of this bore, m, sounds, m.
//
//	Δ = 0.8216 r flush with a wall, 0.6133 r standing free
//
// Source: Levine and Schwinger, Physical Review 73 (1948) 383, for the pipe without a flange; Nomura, Yamamura and
// Inawashiro, J. Phys. Soc. Japan 15 (1960) 510, with an infinite one; both constants from memory. The
// first is as printed; its integral evaluates to 0.6127. They are the limits for waves much longer than the bore, which
// PipeFrequency checks. A flared mouth lies between the two, measured from the plane of its lip; common practice, no source.
func (m Mouth) EndCorrection(bore float64) float64 {
	switch m {
	case Flush:
		return 0.8216 * bore / 2
	case Standing:
		return 0.6133 * bore / 2
	}
	return 0
}

// A Runner is the passage of one cylinder from the inlet valve to the plenum, the port in the head included.
type Runner struct {
	Length float64 // along its middle, m
	Bore   float64 // mean diameter, of the circle with the same area, m
	Mouth  Mouth
}

// Validate returns an error when a dimension is not finite and positive, when the runner is shorter than its bore, or when
// the mouth is none of those declared.
func (r Runner) Validate() error {
	if err := checkPositive("runner length", r.Length, "m"); err != nil {
		return err
	}
	return r.validateBore(r.Length)
}

func (r Runner) validateBore(length float64) error {
	if err := checkPositive("runner bore", r.Bore, "m"); err != nil {
		return err
	}
	if r.Mouth < Flush || r.Mouth > Uncounted {
		return fmt.Errorf("runner mouth is %d; want Flush, Standing or Uncounted", int(r.Mouth))
	}
	if !(length >= r.Bore) {
		return fmt.Errorf("runner length %s is less than its bore, %s; it is no pipe",
			units.Rounded(length, units.Length, "m", 4), units.Rounded(r.Bore, units.Length, "m", 4))
	}
	return nil
}

// Area returns the area of the runner's cross-section A, m².
//
//	A = π d²/4
func (r Runner) Area() float64 { return math.Pi / 4 * r.Bore * r.Bore }

// AcousticLength returns the length the runner sounds as L, m: its own and the mouth's end correction.
func (r Runner) AcousticLength() float64 { return r.Length + r.Mouth.EndCorrection(r.Bore) }

// PipeFrequency returns a natural frequency of the runner while the valve is closed f, Hz.
//
//	f = (2n − 1) a/(4 L)
//
// harmonic is n, 1 for the lowest; soundSpeed a, m/s, is that at the manifold's temperature; L is the acoustic length.
// Source: Kinsler, Frey, Coppens and Sanders, Fundamentals of Acoustics, pipes driven at one end, rigid termination taken
// with an open one. Valid for plane waves with small end corrections: 2π f r/a of at most 0.5, which is checked.
func (r Runner) PipeFrequency(harmonic int, soundSpeed float64) (float64, error) {
	if err := r.Validate(); err != nil {
		return 0, err
	}
	if harmonic < 1 {
		return 0, fmt.Errorf("harmonic is %d; want 1 or more", harmonic)
	}
	if err := checkPositive("sound speed", soundSpeed, "m/s"); err != nil {
		return 0, err
	}
	f := float64(2*harmonic-1) * soundSpeed / (4 * r.AcousticLength())
	if ka := math.Pi * f * r.Bore / soundSpeed; !(ka <= 0.5) {
		return 0, fmt.Errorf("the runner's waves at %.4g Hz are too short for its bore: 2π f r/a is %.3g; want at most 0.5", f, ka)
	}
	return f, nil
}

// The orders between which a runner is tuned as a pipe; common practice, no source.
const (
	LowestOrder  = 2.0
	HighestOrder = 8.0
)

// PipeTuningSpeed returns the engine speed N, rad/s, at which the closed runner's lowest natural frequency fits order times
// into the four-stroke cycle.
//
//	N = 4π f/k = π a/(k L)
//
// order is k, 2 to 8. The suction wave of the piston comes back from the plenum as pressure after 2L/a, which is 2π/k of
// crank angle. That is 120°, 90° and 72° for k of 3, 4 and 5, about what lies between the fastest suction and the closing of the
// valve. The lower the order the stronger the wave. Source: the frequency as PipeFrequency; that k of 3 to 5 are of use is
// common practice, no source.
func (r Runner) PipeTuningSpeed(order, soundSpeed float64) (float64, error) {
	if err := checkOrder(order); err != nil {
		return 0, err
	}
	f, err := r.PipeFrequency(1, soundSpeed)
	if err != nil {
		return 0, err
	}
	return 4 * math.Pi * f / order, nil
}

// PipeLengthFor returns the length of a runner with this bore and mouth, m, that is tuned as a pipe to engine speed, rad/s.
// It is PipeTuningSpeed solved for the length; the runner's own Length is not used. A speed for which the runner would be
// shorter than its bore is an error.
func (r Runner) PipeLengthFor(speed, order, soundSpeed float64) (float64, error) {
	if err := checkOrder(order); err != nil {
		return 0, err
	}
	if err := checkPositive("engine speed", speed, "rad/s"); err != nil {
		return 0, err
	}
	if err := checkPositive("sound speed", soundSpeed, "m/s"); err != nil {
		return 0, err
	}
	length := math.Pi*soundSpeed/(order*speed) - r.Mouth.EndCorrection(r.Bore)
	if err := r.validateBore(length); err != nil {
		return 0, err
	}
	r.Length = length
	_, err := r.PipeFrequency(1, soundSpeed)
	return length, err
}

// MeanVolume returns the mean volume above the piston Ve, m³, which stands for the cylinder as a resonator's vessel.
//
//	Ve = Vd/2 + Vc = Vd/2 (rc + 1)/(rc − 1)
//
// displacement is that of one cylinder Vd, m³. Source: Engelman, ASME 73-WA/DGP-2 (1973), from memory.
func MeanVolume(displacement, compressionRatio float64) (float64, error) {
	if err := checkPositive("displacement", displacement, "m³"); err != nil {
		return 0, err
	}
	if !(compressionRatio > 1) || math.IsInf(compressionRatio, 1) {
		return 0, fmt.Errorf("compression ratio is %v; want more than 1", compressionRatio)
	}
	return displacement / 2 * (compressionRatio + 1) / (compressionRatio - 1), nil
}

// HelmholtzFrequency returns the natural frequency of the runner as the neck of a vessel f, Hz.
//
//	f = a/(2π) √(A/(L V))
//
// volume is V, m³; soundSpeed a, m/s; L is the acoustic length. Source: Kinsler, Frey, Coppens and Sanders, Fundamentals of
// Acoustics, the Helmholtz resonator. The neck's air moves as one only while the neck holds little against the vessel: with
// the same volume the true frequency is a seventh lower, with twice as much a quarter. A runner that holds more than four
// vessels is an error.
func (r Runner) HelmholtzFrequency(volume, soundSpeed float64) (float64, error) {
	if err := r.Validate(); err != nil {
		return 0, err
	}
	if err := checkVessel(volume, soundSpeed); err != nil {
		return 0, err
	}
	if neck := r.Area() * r.AcousticLength(); !(neck <= 4*volume) {
		return 0, fmt.Errorf("the runner holds %.4g m³ and the vessel %.4g m³; want at most four times as much: it is a pipe, not a neck", neck, volume)
	}
	return soundSpeed / (2 * math.Pi) * math.Sqrt(r.Area()/(r.AcousticLength()*volume)), nil
}

// The ratios K of natural frequency to crank turns at which an inlet has its peak, as printed by Engelman, from memory; and
// the one he found most often.
const (
	LowestRatio  = 2.0
	UsualRatio   = 2.1
	HighestRatio = 2.5
)

// HelmholtzTuningSpeed returns the engine speed N, rad/s, to which the runner is tuned as the neck of the cylinder.
//
//	N = 2π f/K
//
// volume is that of MeanVolume; ratio is K, the natural frequency over the turns of the crank, 2.0 to 2.5. Source: Engelman,
// ASME 73-WA/DGP-2 (1973), from memory, printed as
//
//	N = (162/K) a √(A/(L Vd)) √((rc − 1)/(rc + 1)), N in rpm, a in ft/s, L, A and Vd in inches
//
// where 162 is 60 · 12 √2/(2π) = 162.06. A runner holds about as much as the cylinder, where the true frequency is lower than
// f; K was found with this f in engines and takes that in.
func (r Runner) HelmholtzTuningSpeed(volume, ratio, soundSpeed float64) (float64, error) {
	if err := checkRatio(ratio); err != nil {
		return 0, err
	}
	f, err := r.HelmholtzFrequency(volume, soundSpeed)
	if err != nil {
		return 0, err
	}
	return 2 * math.Pi * f / ratio, nil
}

// HelmholtzLengthFor returns the length of a runner with this bore and mouth, m, that is tuned as the neck of the cylinder
// to engine speed, rad/s. It is HelmholtzTuningSpeed solved for the length; the runner's own Length is not used. A speed for
// which the runner would be shorter than its bore, or hold more than four vessels, is an error.
func (r Runner) HelmholtzLengthFor(speed, volume, ratio, soundSpeed float64) (float64, error) {
	if err := checkRatio(ratio); err != nil {
		return 0, err
	}
	if err := checkPositive("engine speed", speed, "rad/s"); err != nil {
		return 0, err
	}
	if err := checkVessel(volume, soundSpeed); err != nil {
		return 0, err
	}
	k := soundSpeed / (ratio * speed)
	length := k*k*r.Area()/volume - r.Mouth.EndCorrection(r.Bore)
	if err := r.validateBore(length); err != nil {
		return 0, err
	}
	r.Length = length
	_, err := r.HelmholtzFrequency(volume, soundSpeed)
	return length, err
}

func checkOrder(order float64) error {
	if !(order >= LowestOrder && order <= HighestOrder) {
		return fmt.Errorf("tuning order is %v; want %v to %v", order, LowestOrder, HighestOrder)
	}
	return nil
}

func checkRatio(ratio float64) error {
	if !(ratio >= LowestRatio && ratio <= HighestRatio) {
		return fmt.Errorf("ratio of natural frequency to crank turns is %v; want %v to %v", ratio, LowestRatio, HighestRatio)
	}
	return nil
}

func checkVessel(volume, soundSpeed float64) error {
	if err := checkPositive("volume", volume, "m³"); err != nil {
		return err
	}
	return checkPositive("sound speed", soundSpeed, "m/s")
}

func checkPositive(name string, x float64, unit string) error {
	if !(x > 0) || math.IsInf(x, 1) {
		if unit != "" {
			unit = " " + unit
		}
		return fmt.Errorf("%s is %v%s; want more than 0", name, x, unit)
	}
	return nil
}

package airpath

import "bellmouth/internal/injector"

func (in *Injection) conditions(speed, difference float64) injector.Conditions {
	return injector.Conditions{
		Speed: speed, PressureDifference: difference, FuelDensity: in.FuelDensity, Voltage: in.SupplyVoltage,
	}
}

// difference returns the pressure the injectors work against, Pa.
func (in *Injection) difference(venue, manifold float64) float64 {
	if in.Fixed {
		return in.RailPressure + venue - manifold
	}
	return in.RailPressure
}

// maxFuel returns the fuel of one cylinder's cycle at the allowed duty, kg.
func (in *Injection) maxFuel(speed, difference float64) (float64, error) {
	return in.Staging.MaxFuel(in.AllowedDuty, in.conditions(speed, difference))
}

// mostFuel is maxFuel for trials, where a rail pressure that does not reach the manifold's gives next to nothing.
func (in *Injection) mostFuel(speed, difference float64) float64 {
	most, err := in.maxFuel(speed, max(difference, 1e-3*in.RailPressure))
	if err != nil {
		return 1e-12
	}
	return most
}

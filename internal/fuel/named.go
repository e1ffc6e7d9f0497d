package fuel

import (
	"fmt"
	"slices"
	"strings"
)

// An UnknownError reports a name that Named does not know.
type UnknownError struct {
	Name  string
	Known []string
}

func (e *UnknownError) Error() string {
	return fmt.Sprintf("no fuel is named %q; known are %s", e.Name, strings.Join(e.Known, ", "))
}

// Names returns the names that Named knows: pure substances first, then grades.
func Names() []string {
	names := make([]string, 0, int(componentCount)+len(grades)+len(ethanolGrades))
	for _, c := range components {
		names = append(names, c.name)
	}
	for _, g := range grades {
		names = append(names, g.Name)
	}
	for _, g := range ethanolGrades {
		names = append(names, g.name)
	}
	return names
}

// FormerNames returns what some names were before they said the octane number, each with the name of today. Specs may still have them.
func FormerNames() map[string]string {
	return map[string]string{"pump95": "ron95", "pump98": "ron98", "race102": "ron102"}
}

// LiquidNames returns the names of Names that are those of liquids.
func LiquidNames() []string {
	return slices.DeleteFunc(Names(), func(name string) bool {
		return slices.ContainsFunc(components[:], func(c substance) bool { return c.gas && c.name == name })
	})
}

// Named returns the fuel of that name.
//
// isooctane, n-heptane, toluene, ethanol, methanol, nitromethane, methane and hydrogen are pure substances from published data,
// the last two of them gases. ron95, ron98 and ron102 are generic petrols of that octane number with typical figures, e10 and
// e85 generic petrol with 10 % and 85 % ethanol by volume: common practice, no source. A delivery differs;
// Override takes its own figures. An unknown name is an *UnknownError.
func Named(name string) (Fuel, error) {
	for k := range components {
		if components[k].name == name {
			return component(k).fuel()
		}
	}
	for _, g := range grades {
		if g.Name == name {
			return New(g)
		}
	}
	for _, g := range ethanolGrades {
		if g.name != name {
			continue
		}
		base, err := New(petrolBase)
		if err != nil {
			return Fuel{}, err
		}
		ethanol, err := alcohol.fuel()
		if err != nil {
			return Fuel{}, err
		}
		f, err := Blend([]Part{{base, 1 - g.ethanol}, {ethanol, g.ethanol}})
		if err != nil {
			return Fuel{}, err
		}
		return f.Override(Definition{Name: g.name, RON: g.ron, MON: g.mon})
	}
	return Fuel{}, &UnknownError{Name: name, Known: Names()}
}

// grades are typical of what is sold: common practice, no source. The oxygen of ron95 and ron98 is that of 5 % ethanol.
var grades = [...]Definition{
	{
		Name: "ron95", Carbon: 1, Hydrogen: 1.87, Oxygen: 0.016, LowerHeatingValue: 42.4e6, Density: 745,
		Expansion: 1.0e-3, LatentHeat: 365e3, LiquidHeatCapacity: 2150, RON: 95, MON: 85,
	},
	{
		Name: "ron98", Carbon: 1, Hydrogen: 1.85, Oxygen: 0.016, LowerHeatingValue: 42.3e6, Density: 750,
		Expansion: 1.0e-3, LatentHeat: 365e3, LiquidHeatCapacity: 2150, RON: 98, MON: 88,
	},
	{
		Name: "ron102", Carbon: 1, Hydrogen: 1.82, Oxygen: 0.022, LowerHeatingValue: 42.0e6, Density: 755,
		Expansion: 1.0e-3, LatentHeat: 370e3, LiquidHeatCapacity: 2150, RON: 102, MON: 90,
	},
}

// petrolBase is the petrol that ethanol is blended into: common practice, no source.
var petrolBase = Definition{
	Name: "petrol", Carbon: 1, Hydrogen: 1.87, LowerHeatingValue: 43.0e6, Density: 742,
	Expansion: 1.0e-3, LatentHeat: 350e3, LiquidHeatCapacity: 2120, RON: 92, MON: 83.5,
}

// ethanolGrades are typical: common practice, no source. Octane numbers as sold rather than as blended.
var ethanolGrades = [...]struct {
	name              string
	ethanol, ron, mon float64
}{
	{"e10", 0.10, 95, 85},
	{"e85", 0.85, 106, 89},
}

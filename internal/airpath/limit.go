package airpath

// A Limit is what keeps the boost of an operating point from being higher, or, for the wastegate, lower.
type Limit int

// The limits, in the order in which they stand in lists.
const (
	Target           Limit = iota // the boost asked for is reached
	Atmosphere                    // naturally aspirated: the manifold has all the pressure there is
	Restrictor                    // the throat is choked
	Surge                         // the compressor would surge
	Choke                         // the compressor is choked
	ShaftSpeed                    // of the turbocharger, or the top line of the map
	Spool                         // the turbine takes all exhaust and gives what power there is
	Creep                         // the wastegate is wide open and passes no more
	Injector                      // allowed duty
	Knock                         // at the latest phasing accepted
	CylinderPressure              // at the latest phasing accepted
	GearboxTorque
	Throttle // part load: less is asked for than the wide-open wastegate leaves, or than the atmosphere gives
	limitCount
)

// boundCount is the number of limits that one evaluation of the air path decides, without the cycle.
const boundCount = int(Injector) + 1

var limitNames = [limitCount]string{
	"target", "atmosphere", "restrictor", "compressor surge", "compressor choke", "shaft speed", "turbine", "wastegate creep",
	"injector", "knock", "cylinder pressure", "gearbox torque", "throttle",
}

// String returns the limit's name in tables: "compressor surge".
func (l Limit) String() string {
	if l < 0 || l >= limitCount {
		return "unknown"
	}
	return limitNames[l]
}

// A LimitSet is a set of limits.
type LimitSet uint

// Has reports whether the set holds a limit.
func (s LimitSet) Has(l Limit) bool { return s&(1<<l) != 0 }

// With returns the set with a limit added.
func (s LimitSet) With(l Limit) LimitSet { return s | 1<<l }

// Without returns the set with a limit taken out.
func (s LimitSet) Without(l Limit) LimitSet { return s &^ (1 << l) }

// Names returns the names of the set with the governing limit first and the others in their order.
func (s LimitSet) Names(governing Limit) []string {
	names := []string{governing.String()}
	for l := range limitCount {
		if l != governing && s.Has(l) {
			names = append(names, l.String())
		}
	}
	return names
}

package spec

import (
	"fmt"
)

// maxVenues is the number of venues a spec may name; each trim is built at each when the spec is read.
const maxVenues = 16

// AllVenues stands for all venues of a spec where one may be named, and so is the name of none.
const AllVenues = "all"

// A venueSet stands for the section venues, whose keys are names and whose values have the keys of venue; Read sees to it.
type venueSet struct{}

// A site is a venue that the file has under venues.
type site struct {
	name  string
	value *node
}

// read looks at what the file says of the venue, by itself.
func (s *site) read(ps *problems) {
	newDecoder(ps, reading{}, true).value(find((&draft{}).parts(), "venue"), s.value, "venue")
}

// declaredVenues returns the venues that the file names, in its order.
func declaredVenues(root *node, ps *problems) []*site {
	n := root.get("venues")
	if n == nil {
		return nil
	}
	fail := func(line, column int, format string, args ...any) {
		ps.add(Problem{Line: line, Column: column, Path: "venues", Message: fmt.Sprintf(format, args...)}, reading{})
	}
	if n.form != mapping || len(n.entries) == 0 {
		fail(n.line, n.column, "is %s; %s", describe(n), (&field{into: venueSet{}}).want())
		return nil
	}
	if len(n.entries) > maxVenues {
		fail(n.line, n.column, "has %d venues; want at most %d", len(n.entries), maxVenues)
		return nil
	}
	var sites []*site
	for _, e := range n.entries {
		switch {
		case e.key == AllVenues:
			fail(e.line, e.column, "has the name %s, which stands for all of them; want another", AllVenues)
		case oddName(e.key):
			fail(e.line, e.column, "has the name %s; %s", shown(e.key), wantName)
		default:
			sites = append(sites, &site{e.key, e.value})
		}
	}
	return sites
}

// with returns a mapping with another value under a key.
func (n *node) with(key string, value *node) *node {
	changed := without(n, key)
	changed.entries = append(changed.entries, entry{key: key, line: value.line, column: value.column, value: value})
	return changed
}

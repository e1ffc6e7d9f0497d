package spec

import (
	"fmt"
	"regexp"
)

// A Waiver says that a check may fail, and why.
type Waiver struct {
	Check  string // id of the check
	Reason string
	Line   int // of the file; 0 when it comes from the command line
}

// maxWaivers is the number of waivers that a list may have.
const maxWaivers = 100

var checkID = regexp.MustCompile(`^[a-z0-9]+(-[a-z0-9]+)*$`)

func waiverFields(w *Waiver) []field {
	return []field{
		{key: "check", doc: "the id of the check", into: &w.Check, required: true, example: "mean-piston-speed"},
		{key: "reason", doc: "why it may fail", into: &w.Reason, required: true, example: "pistons and rods are new every season"},
	}
}

// waivers reads a list of waivers.
func (d *decoder) waivers(into *[]Waiver, n *node, path string) {
	if len(n.items) > maxWaivers {
		d.fail(path, n, "has %d entries; want at most %d", len(n.items), maxWaivers)
		return
	}
	first := map[string]*node{}
	for _, item := range n.items {
		if item.form != mapping {
			d.fail(path, item, "has the entry %s; want check and reason", describe(item))
			continue
		}
		w := Waiver{Line: max(item.line, 0)}
		d.section(waiverFields(&w), item, path)
		check, reason := item.get("check"), item.get("reason")
		switch {
		case w.Check == "" || w.Reason == "": // which has its message
		case !checkID.MatchString(w.Check):
			d.fail(join(path, "check"), check, "is %s; want the id of a check, words in lower case with - between, such as mean-piston-speed", shown(w.Check))
		case reason.none():
			d.fail(join(path, "reason"), reason, "is none; want the reason")
		case first[w.Check] != nil:
			where := ""
			if line := first[w.Check].line; line > 0 {
				where = fmt.Sprintf("; the first is on line %d", line)
			}
			d.fail(join(path, "check"), check, "waives %s twice%s", w.Check, where)
		default:
			first[w.Check] = check
			*into = append(*into, w)
		}
	}
}

// bothWaivers returns the list of waivers of what a trim is laid over with its own behind it, nil unless both have one.
func bothWaivers(base, own *node) *node {
	a, b := base.get("waivers"), own.get("waivers")
	if a == nil || b == nil || a.form != list || b.form != list {
		return nil
	}
	both := *b
	both.items = append(append([]*node(nil), a.items...), b.items...)
	return &both
}

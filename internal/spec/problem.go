package spec

import (
	"cmp"
	"fmt"
	"slices"
	"strings"
	"unicode"
	"unicode/utf8"

	"bellmouth/internal/units"
)

// A Problem is one thing that is wrong with a spec or with a file that it names.
type Problem struct {
	File         string
	Line, Column int    // from 1; 0 when the file as a whole is meant
	Path         string // the key with all its sections: "trims.capped.intake.restrictor.bore"
	Message      string // what follows the path: "is 3.8 mm; want 10 mm to 100 mm"
}

// String returns the problem as one line: file, line, column, path and message.
func (p Problem) String() string {
	var b strings.Builder
	b.WriteString(printable(p.File))
	if p.Line > 0 {
		fmt.Fprintf(&b, ":%d", p.Line)
		if p.Column > 0 {
			fmt.Fprintf(&b, ":%d", p.Column)
		}
	}
	b.WriteString(": ")
	if p.Path != "" {
		b.WriteString(p.Path)
		b.WriteByte(' ')
	}
	b.WriteString(units.Resolve(p.Message, units.Metric)) // a calculation's reason has marks; what the file says stands as it is written
	return b.String()
}

// An Error holds everything that is wrong with a spec, in the order of its lines.
type Error struct {
	Problems []Problem
	Omitted  int // problems beyond those listed
}

// Error returns one line for each problem, and a last one with the number left out, if any.
func (e *Error) Error() string {
	lines := make([]string, 0, len(e.Problems)+1)
	for _, p := range e.Problems {
		lines = append(lines, p.String())
	}
	if e.Omitted > 0 {
		lines = append(lines, fmt.Sprintf("and %d more", e.Omitted))
	}
	return strings.Join(lines, "\n")
}

// maxListed is the number of problems an Error lists: more than that is not read, and a hostile file could hold thousands.
const maxListed = 50

// maxKept is the number of problems kept until they are sorted; later ones are only counted.
const maxKept = 1000

// problems collects what is wrong. One problem met in several trims, because they share the value from the base, counts
// once; so does one that is met by several paths, because they share an anchor.
type problems struct {
	file  string
	kept  []Problem
	met   map[Problem]map[reading]bool // the readings a problem was met in, nil for those that hold for the file; without paths
	plain map[Problem]bool             // the places of problems that no venue by name has to do with: nothing but File, Line and Column
	more  int

	origins []string // of settings: what stands for the file where a line is below 0, −1 the first
}

// A reading is one way to read the file: as one trim, at one venue.
type reading struct {
	trim  string // empty: as the file stands
	venue string // empty: the one without a name
}

func newProblems(file string) *problems {
	return &problems{file: file, met: map[Problem]map[reading]bool{}, plain: map[Problem]bool{}}
}

func (ps *problems) add(p Problem, r reading) {
	if p.Line < 0 {
		p.File, p.Line, p.Column = ps.origins[-p.Line-1], 0, 0
	}
	if p.File == "" {
		p.File = ps.file
	}
	at := Problem{File: p.File, Line: p.Line, Column: p.Column}
	if r.venue == "" {
		ps.plain[at] = true
	} else if ps.plain[at] {
		return // what is wrong there anyway does not get better at a venue
	}
	id := p.apart()
	seen, ok := ps.met[id]
	switch {
	case !ok && len(ps.kept) >= maxKept:
		ps.more++
		return
	case !ok:
		ps.kept = append(ps.kept, p)
		if r.trim != "" {
			seen = map[reading]bool{r: true}
		}
		ps.met[id] = seen
	case r.trim == "":
		ps.met[id] = nil
	case seen != nil:
		seen[r] = true
	}
}

// apart returns the problem without its path, which is all that tells two meetings of the same problem apart.
func (p Problem) apart() Problem {
	p.Path = ""
	return p
}

// met returns those of the names that the readings have, in the order of the names.
func met(readings map[reading]bool, names []string, of func(reading) string) []string {
	var found []string
	for _, name := range names {
		for r := range readings {
			if of(r) == name {
				found = append(found, name)
				break
			}
		}
	}
	return found
}

// inOneOf reports whether there is nothing to tell of the trims or venues: none, or the problem stands in the section of one of them, which names it.
func (p Problem) inOneOf(section string, names []string) bool {
	for _, name := range names {
		if at := join(section, name); p.Path == at || strings.HasPrefix(p.Path, at+".") {
			return true
		}
	}
	return len(names) == 0
}

func (ps *problems) empty() bool { return len(ps.kept) == 0 }

// err returns the problems as an error, or nil. A problem that only some of the trims have names them, and one that is there only at venues by name
// names those.
func (ps *problems) err(trims, venues []string) error {
	if ps.empty() {
		return nil
	}
	list := make([]Problem, len(ps.kept))
	for i, p := range ps.kept {
		list[i] = p
		var where []string
		seen := ps.met[p.apart()]
		if in := met(seen, trims, func(r reading) string { return r.trim }); len(in) < len(trims) && !p.inOneOf("trims", in) {
			where = append(where, "in trim "+strings.Join(in, ", "))
		}
		if at := met(seen, venues, func(r reading) string { return r.venue }); !p.inOneOf("venues", at) {
			where = append(where, "at venue "+strings.Join(at, ", "))
		}
		if where != nil {
			list[i].Message += " (" + strings.Join(where, "; ") + ")"
		}
	}
	slices.SortStableFunc(list, func(a, b Problem) int {
		// The spec first, then the files it names.
		return cmp.Or(cmp.Compare(rank(a.File, ps.file), rank(b.File, ps.file)), cmp.Compare(a.File, b.File),
			cmp.Compare(a.Line, b.Line), cmp.Compare(a.Column, b.Column))
	})
	e := &Error{Problems: list, Omitted: ps.more}
	if len(list) > maxListed {
		e.Problems, e.Omitted = list[:maxListed], ps.more+len(list)-maxListed
	}
	return e
}

func rank(file, first string) int {
	if file == first {
		return 0
	}
	return 1
}

// whole returns an Error with one problem that holds for a whole file, or for one place in it.
func whole(file string, line, column int, format string, args ...any) *Error {
	return &Error{Problems: []Problem{{File: file, Line: line, Column: column, Message: fmt.Sprintf(format, args...)}}}
}

// shown returns text from a file fit for a message: short, and printable.
func shown(text string) string {
	if text == "" {
		return `""`
	}
	if short := clip(text); short != text {
		return printable(short) + "..."
	}
	return printable(text)
}

// clip returns the first runes of a text, as many as a message shows.
func clip(text string) string {
	const longest = 60
	count := 0
	for i := range text {
		if count++; count > longest {
			return text[:i]
		}
	}
	return text
}

// printable returns text with every rune that does not print, such as escape sequences and direction marks, written as an
// escape, so that nothing from a file can act on a terminal.
func printable(text string) string {
	plain := func(r rune) bool { return r != utf8.RuneError && unicode.IsPrint(r) }
	if !strings.ContainsFunc(text, func(r rune) bool { return !plain(r) }) {
		return text
	}
	var b strings.Builder
	for _, r := range text {
		switch {
		case plain(r):
			b.WriteRune(r)
		case r < 0x100:
			fmt.Fprintf(&b, `\x%02x`, r)
		default:
			fmt.Fprintf(&b, `\u%04x`, r)
		}
	}
	return b.String()
}

// unprintable returns the first rune of a name that must not reach a terminal, and whether there is one.
func unprintable(name string) (rune, bool) {
	for _, r := range name {
		if !unicode.IsPrint(r) {
			return r, true
		}
	}
	return 0, false
}

// anyOf joins choices for a message: "manifold or venue".
func anyOf(choices []string) string {
	if len(choices) < 2 {
		return strings.Join(choices, "")
	}
	return strings.Join(choices[:len(choices)-1], ", ") + " or " + choices[len(choices)-1]
}

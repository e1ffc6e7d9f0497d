package cli

import (
	"fmt"
	"slices"
	"strings"

	"bellmouth/internal/spec"
)

// asGiven is the alternative that leaves what the spec gives.
const asGiven = "given"

// A choice is one alternative of a --vary: the values that go together.
type choice []spec.Setting

// A vary is what one --vary lets variants differ in.
type vary struct {
	flag    string // as given
	choices []choice
}

const varyForm = "PATH=VALUE|VALUE, or of values that go together PATH=VALUE, PATH=VALUE|VALUE, VALUE"

// parseVary reads the alternatives of a --vary, with | between them: values that go together, with commas between, each with its path or, after the
// first, in the order of the paths there. | and , inside quotes or brackets belong to a value.
func parseVary(text string) (vary, error) {
	v := vary{flag: text}
	fail := func(format string, args ...any) (vary, error) {
		return vary{}, fmt.Errorf("--vary %q "+format, append([]any{text}, args...)...)
	}
	alternatives, ok := cutOutside(text, '|')
	if !ok {
		return fail("has a quote or bracket that nothing closes")
	}
	if len(alternatives) < 2 {
		return fail("has one alternative; want two or more with | between: %s; --set sets a value for all variants", varyForm)
	}
	var first []string // the paths of the first alternative that names any, in its order
	for i, alternative := range alternatives {
		nth := fmt.Sprintf("alternative %d", i+1)
		alternative = strings.TrimSpace(alternative)
		if alternative == "" {
			return fail("has nothing as its %s; want a value, or %s for what the spec gives", nth, asGiven)
		}
		if alternative == asGiven {
			v.choices = append(v.choices, nil)
			continue
		}
		parts, _ := cutOutside(alternative, ',')
		var c choice
		for k, part := range parts {
			path, value, named := splitPath(part)
			if !named {
				if len(first) != len(parts) || k >= len(first) {
					return fail("has %q in its %s, which is not PATH=VALUE, and no value for each path before it; a value that holds a comma or | stands in quotes",
						strings.TrimSpace(part), nth)
				}
				path, value = first[k], strings.TrimSpace(part)
			}
			setting, err := spec.ParseSetting(path + "=" + value)
			if err != nil {
				return fail("in its %s: %w", nth, err)
			}
			if err := withinTrim(setting.Path); err != nil {
				return fail("in its %s: %w", nth, err)
			}
			if slices.ContainsFunc(c, func(other spec.Setting) bool { return overlap(other.Path, setting.Path) }) {
				return fail("in its %s sets %s twice", nth, setting.Path)
			}
			c = append(c, setting)
		}
		if first == nil {
			for _, setting := range c {
				first = append(first, setting.Path)
			}
		}
		v.choices = append(v.choices, slices.DeleteFunc(c, func(s spec.Setting) bool { return s.Value == asGiven }))
	}
	for i, c := range v.choices {
		if k := slices.IndexFunc(v.choices[:i], func(other choice) bool { return slices.Equal(other, c) }); k >= 0 {
			return fail("has alternative %d once more as alternative %d", k+1, i+1)
		}
	}
	return v, nil
}

// withinTrim refuses a path that is none of the variant's trim.
func withinTrim(path string) error {
	if first, _, _ := strings.Cut(path, "."); first == "trims" || first == "venues" || first == "name" || first == "about" {
		return fmt.Errorf("%s is no value of a trim: --vary names a path as it stands in a trim, such as intake.restrictor.bore, "+
			"and every variant's trim gets the value; "+
			"--trim and --venue choose where", path)
	}
	return nil
}

// splitPath splits PATH=VALUE. A part that begins like a value, with a quote or a bracket, has no path.
func splitPath(part string) (path, value string, ok bool) {
	path, value, ok = strings.Cut(part, "=")
	path = strings.TrimSpace(path)
	if !ok || path == "" || strings.ContainsAny(path, "\"'{}[]") {
		return "", "", false
	}
	return path, strings.TrimSpace(value), true
}

// overlap reports whether two paths are the same, or one leads through the other.
func overlap(a, b string) bool {
	return a == b || strings.HasPrefix(a, b+".") || strings.HasPrefix(b, a+".")
}

// cutOutside cuts a text at a separator wherever it stands outside quotes and brackets. ok is false where one of those is left open. As in YAML a quote
// begins a value and nothing else: that of 5' does not.
func cutOutside(text string, separator rune) (parts []string, ok bool) {
	var quote rune
	depth, from := 0, 0
	begins := true // a value may begin here
	for i, r := range text {
		switch {
		case quote != 0:
			if r == quote {
				quote = 0
			}
		case begins && (r == '"' || r == '\''):
			quote = r
		case r == '{' || r == '[':
			depth++
		case r == '}' || r == ']':
			depth--
		case r == separator && depth == 0:
			parts = append(parts, text[from:i])
			from = i + 1
		}
		if r != ' ' {
			begins = strings.ContainsRune("=:,|{[", r)
		}
	}
	return append(parts, text[from:]), quote == 0 && depth == 0
}

// parseVaries reads all --vary, which must not reach into each other.
func parseVaries(texts []string) ([]vary, error) {
	var all []vary
	for _, text := range texts {
		v, err := parseVary(text)
		if err != nil {
			return nil, err
		}
		for _, other := range all {
			for _, path := range v.paths() {
				for _, taken := range other.paths() {
					if overlap(path, taken) {
						return nil, fmt.Errorf("--vary %q sets %s, and --vary %q sets %s; want values that go together in one --vary", other.flag, taken, v.flag, path)
					}
				}
			}
		}
		all = append(all, v)
	}
	return all, nil
}

// paths returns the paths that any alternative sets.
func (v vary) paths() []string {
	var all []string
	for _, c := range v.choices {
		for _, s := range c {
			if !slices.Contains(all, s.Path) {
				all = append(all, s.Path)
			}
		}
	}
	return all
}

// combinations returns every choice of each --vary with every one of the others, that of the last changing fastest. Without any there is one, which
// changes nothing.
func combinations(varies []vary) []choice {
	all := []choice{nil}
	for _, v := range varies {
		var next []choice
		for _, c := range all {
			for _, more := range v.choices {
				next = append(next, slices.Concat(c, more))
			}
		}
		all = next
	}
	return all
}

// shortPaths returns for each path its end, as short as it may be for them to stay apart.
func shortPaths(paths []string) map[string]string {
	short := map[string]string{}
	for _, path := range paths {
		keys := strings.Split(path, ".")
		for n := 1; n <= len(keys); n++ {
			end := strings.Join(keys[len(keys)-n:], ".")
			clash := slices.ContainsFunc(paths, func(other string) bool {
				return other != path && (other == end || strings.HasSuffix(other, "."+end))
			})
			if short[path] = end; !clash {
				break
			}
		}
	}
	return short
}

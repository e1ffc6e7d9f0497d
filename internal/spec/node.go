package spec

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"unicode"
	"unicode/utf8"

	"gopkg.in/yaml.v3"
)

// Bounds on what a file may hold, far above any real spec. Aliases count each time they are used, so that a small file
// cannot unfold into a large one.
const (
	maxFile  = 1 << 20 // bytes
	maxNodes = 20000
	maxDepth = 16
	maxKey   = 80 // bytes of a key, a trim's name included
)

// A form is what a node of the file is.
type form int

const (
	scalar form = iota
	mapping
	list
)

func (f form) String() string {
	return [...]string{"a value", "a section", "a list"}[f]
}

// A node is one value, section or list of the file, aliases unfolded, with its place.
type node struct {
	form         form
	path         string // as written in the file: "trims.capped.boost.target"
	line, column int
	text         string  // of a scalar
	quoted       bool    // a scalar in quotes, which is text even when empty
	entries      []entry // of a mapping, in the file's order
	items        []*node // of a list; they have its path
}

// An entry is one key of a mapping with its value.
type entry struct {
	key          string
	line, column int // of the key
	value        *node
}

// get returns the value under a key, or nil. A nil node has none.
func (n *node) get(key string) *node {
	if n == nil {
		return nil
	}
	for i := range n.entries {
		if n.entries[i].key == key {
			return n.entries[i].value
		}
	}
	return nil
}

// none reports whether the node says that an optional part is not there.
func (n *node) none() bool { return n.form == scalar && !n.quoted && n.text == "none" }

func join(path, key string) string {
	if path == "" {
		return key
	}
	return path + "." + key
}

// parse turns the text of a spec into nodes. What makes the text as a whole unreadable is an *Error with one problem;
// doubled and unprintable keys are added to the problems.
func parse(file string, data []byte, ps *problems) (*node, error) {
	if len(data) > maxFile {
		return nil, whole(file, 0, 0, "is larger than a spec may be, 1 MiB")
	}
	data = trimBOM(data)
	if err := checkText(file, data); err != nil {
		return nil, err
	}
	doc, err := parseYAML(data)
	if errors.Is(err, io.EOF) || (err == nil && len(doc.Content) == 0) {
		return nil, whole(file, 0, 0, "is empty; want a spec, with at least the section engine")
	}
	if err != nil {
		return nil, syntaxError(file, data, err)
	}
	c := converter{file: file, ps: ps}
	root, err := c.convert(doc.Content[0], "", 0)
	if err != nil {
		return nil, err
	}
	if root.form == scalar && root.text == "" && !root.quoted {
		return nil, whole(file, 0, 0, "is empty; want a spec, with at least the section engine")
	}
	if root.form != mapping {
		return nil, whole(file, root.line, root.column, "holds %s; want a spec, with at least the section engine", root.form)
	}
	return root, nil
}

var (
	errDocuments  = errors.New("holds more than one YAML document (after a line ---); want one spec a file")
	errUnreadable = errors.New("the parser cannot make sense of it")
)

// parseYAML returns the one document of the data. The parser reports what it does not understand of its own state by a
// panic; a file must not end the program, so that becomes an error as well.
func parseYAML(data []byte) (doc *yaml.Node, err error) {
	defer func() {
		if v := recover(); v != nil {
			doc, err = nil, errUnreadable
		}
	}()
	dec := yaml.NewDecoder(bytes.NewReader(data))
	doc = new(yaml.Node)
	if err := dec.Decode(doc); err != nil {
		return nil, err
	}
	if err := dec.Decode(new(yaml.Node)); err == nil {
		return nil, errDocuments
	} else if !errors.Is(err, io.EOF) {
		return nil, err
	}
	return doc, nil
}

// checkText refuses what is not text in UTF-8, with the place of the first byte or rune that is not.
func checkText(file string, data []byte) error {
	line, start := 1, 0
	for i := 0; i < len(data); {
		r, size := utf8.DecodeRune(data[i:])
		switch {
		case r == utf8.RuneError && size == 1:
			return whole(file, line, utf8.RuneCount(data[start:i])+1, "is not text in UTF-8: byte 0x%02x", data[i])
		case r == '\n':
			line, start = line+1, i+1
		case r != '\t' && r != '\r' && (unicode.IsControl(r) || r == '\ufeff'):
			return whole(file, line, utf8.RuneCount(data[start:i])+1, "is not plain text: it holds the control character U+%04X", r)
		}
		i += size
	}
	return nil
}

type converter struct {
	file  string
	ps    *problems
	count int
}

// convert turns a YAML node into a node, aliases unfolded.
func (c *converter) convert(y *yaml.Node, path string, depth int) (*node, error) {
	if c.count++; c.count > maxNodes {
		return nil, whole(c.file, y.Line, y.Column, "holds more than %d values, aliases counted where they are used", maxNodes)
	}
	if depth > maxDepth {
		return nil, whole(c.file, y.Line, y.Column, "is nested deeper than %d levels", maxDepth)
	}
	n := &node{path: path, line: y.Line, column: y.Column}
	if y.Kind == yaml.AliasNode {
		return c.convert(y.Alias, path, depth+1)
	}
	if y.Style&yaml.TaggedStyle != 0 {
		c.ps.add(Problem{Line: y.Line, Column: y.Column, Path: path, Message: "has the tag " + shown(y.Tag) + "; a spec has none"}, reading{})
	}
	switch y.Kind {
	case yaml.MappingNode:
		n.form = mapping
		n.entries = make([]entry, 0, len(y.Content)/2)
		for i := 0; i+1 < len(y.Content); i += 2 {
			key := y.Content[i]
			for hops := 0; key.Kind == yaml.AliasNode && hops < maxDepth; hops++ {
				key = key.Alias
			}
			at := y.Content[i]
			if message := badKey(key); message != "" {
				c.ps.add(Problem{Line: at.Line, Column: at.Column, Path: path, Message: message}, reading{})
				continue
			}
			value, err := c.convert(y.Content[i+1], join(path, key.Value), depth+1)
			if err != nil {
				return nil, err
			}
			n.entries = append(n.entries, entry{key: key.Value, line: at.Line, column: at.Column, value: value})
		}
		c.dropDoubled(n)
	case yaml.SequenceNode:
		n.form = list
		for _, y := range y.Content {
			item, err := c.convert(y, path, depth+1)
			if err != nil {
				return nil, err
			}
			n.items = append(n.items, item)
		}
	default:
		n.text = y.Value
		n.quoted = y.Style&(yaml.SingleQuotedStyle|yaml.DoubleQuotedStyle) != 0
		if !n.quoted && y.Tag == "!!null" {
			n.text = "" // ~ and null are other spellings of nothing
		}
	}
	return n, nil
}

// dropDoubled reports keys given twice in one section and keeps the first.
func (c *converter) dropDoubled(n *node) {
	first := make(map[string]int, len(n.entries))
	kept := n.entries[:0]
	for _, e := range n.entries {
		if line, ok := first[e.key]; ok {
			c.ps.add(Problem{Line: e.line, Column: e.column, Path: e.value.path,
				Message: fmt.Sprintf("is given twice; the first is on line %d", line)}, reading{})
			continue
		}
		first[e.key] = e.line
		kept = append(kept, e)
	}
	n.entries = kept
}

// badKey says what is wrong with a key whatever section it stands in, or nothing.
func badKey(key *yaml.Node) string {
	switch {
	case key.Kind != yaml.ScalarNode:
		return "has a key that is not a word"
	case key.Tag == "!!merge":
		return "has the key <<; a spec has none: trims merge over the rest of the file by themselves"
	case key.Value == "":
		return "has an empty key"
	case len(key.Value) > maxKey:
		return fmt.Sprintf("has the key %s, longer than %d bytes", shown(key.Value), maxKey)
	}
	if r, bad := unprintable(key.Value); bad {
		return fmt.Sprintf("has the key %s, with U+%04X, which does not print", shown(key.Value), r)
	}
	return ""
}

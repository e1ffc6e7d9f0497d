package spec

import (
	"bytes"
	"errors"
	"io"
	"regexp"
	"strings"
	"unicode/utf8"

	"gopkg.in/yaml.v3"
)

var (
	yamlLine     = regexp.MustCompile(`^line \d+: `)
	yamlNoAnchor = regexp.MustCompile(`^unknown anchor '(.*)' referenced$`)
)

// syntaxError turns what the YAML parser reports into a problem with its place. The parser's own line is that of what it was in
// the midst of, such as the whole section, and it has no column. The place is found from how far the parser has read, and from
// the quotation marks and brackets that are open there: those are the usual cause, and so is a tab in the indentation.
func syntaxError(file string, data []byte, err error) error {
	if errors.Is(err, errDocuments) {
		return whole(file, 0, 0, "%s", err)
	}
	fail := func(at int, format string, args ...any) error {
		line, column := place(data, at)
		return whole(file, line, column, "is not YAML: "+format, args...)
	}
	text := strings.TrimPrefix(err.Error(), "yaml: ")
	text = text[len(yamlLine.FindString(text)):]
	if m := yamlNoAnchor.FindStringSubmatch(text); m != nil {
		if at := bytes.Index(data, []byte("*"+m[1])); at >= 0 {
			return fail(at, "%s", shown(text))
		}
	}
	if at := tabIndent(data); at >= 0 {
		return fail(at, "a tab indents this line; want spaces")
	}
	read := reach(data)
	open := openAt(data, read)
	switch {
	case open.quote >= 0 && open.closed < 0:
		return fail(open.quote, "the quotation mark %c opens here and is not closed", data[open.quote])
	case open.quote >= 0:
		line, _ := place(data, open.closed)
		return fail(open.quote, "the quotation mark %c opens here and is not closed before line %d", data[open.quote], line)
	case open.stray >= 0:
		return fail(open.stray, "the bracket %c closes nothing", data[open.stray])
	case open.bracket >= 0 && (read >= len(data) || open.left):
		return fail(open.bracket, "the bracket %c opens here and is not closed", data[open.bracket])
	}
	at := culprit(data, read)
	if strings.HasPrefix(text, noColon) {
		at = lineWithoutColon(data, at)
	}
	return fail(at, "%s", inWords(text))
}

// noColon is what the parser reports of a line without a colon, once it has met the next.
const noColon = "could not find expected ':'"

// lineWithoutColon returns where the text of the nearest line without a colon begins, of those from a place upwards that are neither
// empty nor a comment; the place itself where the line above has one.
func lineWithoutColon(data []byte, at int) int {
	for end := at; end > 0; {
		start := bytes.LastIndexByte(data[:end], '\n') + 1
		line := data[start:]
		if n := bytes.IndexByte(line, '\n'); n >= 0 {
			line = line[:n]
		}
		text := bytes.TrimSpace(line)
		switch {
		case len(text) == 0 || text[0] == '#':
		case !bytes.Contains(append(text[:len(text):len(text)], ' '), []byte(": ")):
			return start + bytes.Index(line, text)
		case end != at:
			return at
		}
		end = start - 1
	}
	return at
}

// inWords returns what the parser reports in a spec's terms, where those are known to be the cause.
func inWords(text string) string {
	switch {
	case strings.HasPrefix(text, "did not find expected key"):
		return "this does not line up with the keys above; want the same indentation for the keys of one section"
	case strings.HasPrefix(text, "mapping values are not allowed"):
		return "a second colon or a key below a value; want one key and its value on a line, and a section's keys below a key without value"
	case strings.HasPrefix(text, noColon):
		return "a line without a colon; want key: value"
	}
	return shown(text)
}

// place returns the line and the column, in characters, of a byte, from 1.
func place(data []byte, at int) (line, column int) {
	at = min(at, len(data))
	start := bytes.LastIndexByte(data[:at], '\n') + 1
	return 1 + bytes.Count(data[:at], []byte("\n")), 1 + utf8.RuneCount(data[start:at])
}

// tabIndent returns the first tab in the indentation of a line with something on it, or -1.
func tabIndent(data []byte) int {
	for start := 0; start < len(data); {
		line, _, _ := bytes.Cut(data[start:], []byte("\n"))
		content := bytes.TrimLeft(line, " \t")
		if tab := bytes.IndexByte(line[:len(line)-len(content)], '\t'); tab >= 0 && len(bytes.TrimSpace(content)) > 0 {
			return start + tab
		}
		start += len(line) + 1
	}
	return -1
}

// A drip gives its data byte by byte and knows how many it gave.
type drip struct {
	data []byte
	at   int
}

func (d *drip) Read(p []byte) (int, error) {
	if d.at >= len(d.data) {
		return 0, io.EOF
	}
	if len(p) == 0 {
		return 0, nil
	}
	p[0] = d.data[d.at]
	d.at++
	return 1, nil
}

// reach returns how many bytes the parser takes until it gives up: it reads no more than it has to.
func reach(data []byte) (read int) {
	d := &drip{data: data}
	defer func() {
		if v := recover(); v != nil { // see parseYAML
			read = d.at
		}
	}()
	dec := yaml.NewDecoder(d)
	for dec.Decode(new(yaml.Node)) == nil {
	}
	return d.at
}

// culprit returns where the word starts that the parser had read last, given how far it had read.
func culprit(data []byte, read int) int {
	end := min(read, len(data))
	// The parser looks a character or more ahead, over the end of the line too.
	for end > 0 && bytes.IndexByte([]byte(" \n\r"), data[end-1]) >= 0 {
		end--
	}
	start := bytes.LastIndexByte(data[:end], '\n') + 1
	return start + len(data[start:end]) - len(bytes.TrimLeft(data[start:end], " "))
}

// An opened is what is open at a place of the text.
type opened struct {
	quote   int  // a quotation mark whose text runs over the end of a line, -1 for none
	closed  int  // where that text ends, -1 when it does not
	bracket int  // the innermost bracket that is open, -1 for none; of those that are left the innermost
	stray   int  // a closing bracket where none is open, -1 for none
	left    bool // another kind of bracket closes it, or the place is on a line that does not stand deeper than the bracket's
}

// openAt reads the text as far as quotation marks, brackets and comments go. In a spec no text in quotation marks is longer than
// a line, so that one that is lacks its end.
func openAt(data []byte, read int) opened {
	o := opened{quote: -1, closed: -1, bracket: -1, stray: -1}
	var brackets []int
	fresh := true // a value or key may begin here
	for i := 0; i < len(data) && i < read; i++ {
		switch c := data[i]; {
		case c == '\n':
			fresh = true
		case c == '#' && (i == 0 || data[i-1] == ' ' || data[i-1] == '\n' || data[i-1] == '\t'):
			for i+1 < len(data) && data[i+1] != '\n' {
				i++
			}
		case c == ' ' || c == '\r' || c == '\t':
		case (c == '"' || c == '\'') && fresh:
			end := quoteEnd(data, i)
			if end < 0 || bytes.IndexByte(data[i:end], '\n') >= 0 {
				o.quote, o.closed = i, end
				return o
			}
			i, fresh = end, false
		case (c == '{' || c == '[') && fresh:
			brackets = append(brackets, i)
		case (c == '}' || c == ']') && len(brackets) > 0:
			last := brackets[len(brackets)-1]
			if (data[last] == '{') != (c == '}') {
				o.bracket, o.left = last, true
				return o
			}
			brackets = brackets[:len(brackets)-1]
			fresh = false
		case (c == '}' || c == ']') && fresh:
			o.stray = i
			return o
		case c == ',' && len(brackets) > 0:
			fresh = true
		case c == ':' && (i+1 == len(data) || bytes.IndexByte([]byte(" \n\r"), data[i+1]) >= 0):
			fresh = true
		case c == '-' && fresh && i+1 < len(data) && data[i+1] == ' ':
		default:
			fresh = false
		}
	}
	line, column := place(data, culprit(data, read))
	for i := len(brackets) - 1; i >= 0 && !o.left; i-- {
		if o.bracket < 0 {
			o.bracket = brackets[i]
		}
		opens, _ := place(data, brackets[i])
		start := bytes.LastIndexByte(data[:brackets[i]], '\n') + 1
		if indent := len(data[start:]) - len(bytes.TrimLeft(data[start:], " ")); line > opens && column-1 <= indent {
			o.bracket, o.left = brackets[i], true
		}
	}
	return o
}

// quoteEnd returns where the text in quotation marks that begins at a place ends, or -1.
func quoteEnd(data []byte, at int) int {
	for i := at + 1; i < len(data); i++ {
		switch {
		case data[at] == '"' && data[i] == '\\':
			i++
		case data[at] == '\'' && data[i] == '\'' && i+1 < len(data) && data[i+1] == '\'':
			i++
		case data[i] == data[at]:
			return i
		}
	}
	return -1
}

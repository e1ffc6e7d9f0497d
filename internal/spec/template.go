package spec

import (
	"bytes"
	_ "embed"
	"strings"
)

// TemplateMapName is the name under which the spec of Template names the map of TemplateMap.
const TemplateMapName = "compressor-map.csv"

//go:embed template-map.csv
var templateMap []byte

// TemplateMap returns a compressor map for the spec of Template. Its figures are invented, as its first line says.
func TemplateMap() []byte { return bytes.Clone(templateMap) }

const templateHead = `# A spec for bellmouth, to start from. Every figure in it is invented: put your own in their place.
# Each value carries its unit. What stands behind a # is a comment: what the key means, what it takes, and its default.
# A key that has a default, or is called optional, may be left out, and so may every section but engine.

`

const templateTrims = `# Named sets of changes to what stands above, laid over it key by key; tables are replaced whole, and none takes a part
# away. A trim with from: capped is laid over the trim capped instead. Without trims the spec is computed as it stands.
trims:
  open:
    intake: {restrictor: none}
  capped:
    boost: {target: {1500 rpm: 0.3 bar, 3500 rpm: 1.3 bar, 5000 rpm: 1.2 bar, 6000 rpm: 0.9 bar, 7800 rpm: 0.6 bar}}

# Places by name, each with the keys of venue: bellmouth COMMAND --venue hilltop, or --venue all. They take the place of the
# section venue and of a trim's own.
venues:
  hilltop: {altitude: 1450 m, temperature: 9 degC, humidity: 70 %}
  seaside: {altitude: 10 m, temperature: 24 degC, humidity: 65 %}
`

// Template returns a spec to start from: every key of the file format with what it means, in the order of the schema. With
// the map of TemplateMap beside it, under TemplateMapName, it loads as it is.
func Template() []byte {
	var b strings.Builder
	b.WriteString(templateHead)
	fields := (&draft{}).schema()
	for i := range fields {
		f := &fields[i]
		switch f.into.(type) {
		case trimSet, venueSet:
			continue // last, since they refer to the rest
		}
		writeField(&b, f, "", "")
		if f.isSection() || f.isList() {
			b.WriteByte('\n')
		}
	}
	b.WriteString(templateTrims)
	return []byte(b.String())
}

// writeField writes a field with its comment. Lines of what is not in use start with off, "# ".
func writeField(b *strings.Builder, f *field, indent, off string) {
	const beside, widest = 36, 118 // where a comment beside a value starts, and how wide a line may be
	if f.commented {
		off = "# "
	}
	line := indent + off + f.key + ":"
	if f.example != "" && f.member == nil {
		line += " " + f.example
	}
	comment := "# " + f.help()
	if pad := beside - len(line); f.example != "" && f.member == nil && pad > 0 && beside+len(comment) <= widest {
		b.WriteString(line + strings.Repeat(" ", pad) + comment + "\n")
	} else {
		for _, l := range wrap(f.help(), widest-len(indent)-len("# ")) {
			b.WriteString(indent + "# " + l + "\n")
		}
		b.WriteString(line + "\n")
	}
	below := indent + "  "
	if f.member != nil {
		b.WriteString(below + off + f.example + ":\n")
		below += "  "
	}
	for i := range f.fields {
		writeField(b, &f.fields[i], below, off)
	}
}

// help says what a field is, what it takes and what it is by default, in a line.
func (f *field) help() string {
	parts := []string{f.doc}
	switch {
	case f.choices != nil:
		parts = append(parts, anyOf(f.choices))
	case f.min != "":
		parts = append(parts, f.min+" to "+f.max)
	}
	if f.over != nil {
		parts = append(parts, f.tableOver())
	}
	switch {
	case f.fallback != "":
		parts = append(parts, "default "+f.fallback+": "+f.reason)
	case !f.required && !f.implied && !strings.Contains(f.doc, "default"):
		parts = append(parts, "optional")
	}
	return strings.Join(parts, "; ")
}

// wrap breaks a text into lines at its spaces.
func wrap(text string, width int) []string {
	var lines []string
	line := ""
	for _, word := range strings.Fields(text) {
		if line != "" && len(line)+1+len(word) > width {
			lines, line = append(lines, line), ""
		}
		if line != "" {
			line += " "
		}
		line += word
	}
	return append(lines, line)
}

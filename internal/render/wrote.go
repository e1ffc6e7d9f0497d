package render

import (
	"bytes"
	"encoding/csv"
	"encoding/json"
	"errors"
	"io"
	"regexp"
	"slices"
	"strings"

	"bellmouth/internal/table"
)

// The formats by name.
const (
	TextFormat     = "table"
	CSVFormat      = "csv"
	JSONFormat     = "json"
	MarkdownFormat = "markdown"
)

// Wrote reports whether data is what the program writes in a format when the document's command runs, whatever the spec, the trims and the figures.
// What it does not recognise may be somebody's work.
//
// JSON names schema and command. CSV has nothing but blocks of the program's own form, and begins with the document's first table. Text and Markdown
// begin with the heading and the first column of that table, and end with the document's cautions.
func Wrote(format string, data []byte, doc table.Document) bool {
	switch format {
	case JSONFormat:
		return wroteJSON(data, doc)
	case CSVFormat:
		return wroteCSV(string(data), doc)
	case MarkdownFormat:
		return wroteText(string(data), doc, "### ", func(s string) string { return escapeMarkdown(Clean(s)) })
	}
	return wroteText(string(data), doc, "", Clean)
}

func wroteJSON(data []byte, doc table.Document) bool {
	var found struct {
		Schema, Command, Spec string
		Tables                []struct {
			Name, Trim, Venue string
			Rows              []map[string]any
			Notes             []string
		}
		Warnings, Cautions []string
	}
	decoder := json.NewDecoder(bytes.NewReader(data))
	decoder.DisallowUnknownFields() // which somebody has added
	if decoder.Decode(&found) != nil {
		return false
	}
	if _, err := decoder.Token(); !errors.Is(err, io.EOF) {
		return false
	}
	schema, _, _ := strings.Cut(Schema, "/")
	return strings.HasPrefix(found.Schema, schema+"/") && found.Command == doc.Command
}

func wroteCSV(data string, doc table.Document) bool {
	if len(doc.Tables) == 0 {
		return false
	}
	for i, text := range strings.Split(data, "\n\n") {
		records, ok := block(text)
		if !ok {
			return false
		}
		head := records[0]
		var names [][]string // records whose first field is a table's name
		switch {
		case len(head) >= 3 && head[0] == tableHead && head[1] == trimHead && head[len(head)-1] == notesHead:
			names = records[1:]
		case len(records) > 1 && corner.MatchString(records[1][0]):
			names = records[:1]
		default:
			return false
		}
		if i == 0 && len(names) > 0 && names[0][0] != Clean(doc.Tables[0].Name) {
			return false
		}
	}
	return true
}

// block reads records that are all as long as the first. The program writes no carriage returns; a spreadsheet that has saved its file does.
func block(text string) (records [][]string, ok bool) {
	if strings.Contains(text, "\r") {
		return nil, false
	}
	records, err := csv.NewReader(strings.NewReader(text)).ReadAll()
	return records, err == nil && len(records) > 0
}

var corner = regexp.MustCompile(`^[^ ]+( \[[^]]+\])? over .+ \(down\) and .+ \(across\)$`)

// Wrote reports whether data is a grid of the same figure, in any unit.
func (g CSVGrid) Wrote(data []byte) bool {
	records, ok := block(string(data))
	if !ok || !corner.MatchString(records[0][0]) {
		return false
	}
	figure, _, _ := strings.Cut(records[0][0], " ")
	return table.Bare(figure) == table.Bare(g.Key)
}

func wroteText(data string, doc table.Document, mark string, written func(string) string) bool {
	if len(doc.Tables) == 0 {
		return false
	}
	first := doc.Tables[0]
	heading, rest, _ := strings.Cut(data, "\n\n")
	name, ok := strings.CutPrefix(heading, mark+written(first.Name))
	if !ok || name != "" && name[0] != ',' && name[0] != ':' {
		return false
	}
	head, _, _ := strings.Cut(rest, "\n\n")
	if i := slices.IndexFunc(first.Columns, func(c table.Column) bool { return !c.Detail }); i >= 0 && strings.TrimSpace(head) != nothing {
		found := strings.Fields(head)
		for _, word := range strings.Fields(written(first.Columns[i].Title)) {
			if !slices.Contains(found, word) {
				return false
			}
		}
	}
	var end []string // without regard to where lines are broken
	for _, c := range doc.Cautions {
		end = append(append(end, cautionLead), strings.Fields(written(c))...)
	}
	words := strings.Fields(data)
	return len(words) >= len(end) && slices.Equal(words[len(words)-len(end):], end)
}

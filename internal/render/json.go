package render

import (
	"bytes"
	"encoding/json"
	"fmt"
	"io"

	"bellmouth/internal/table"
)

// Schema names the form of the JSON output. It changes when a script written for the form would misread the new one.
const Schema = "bellmouth/2"

// JSON writes the document as one JSON object: the contract for scripts.
//
// A table has the key venue where the document's venues were asked for by name. Keys stand in the order of the columns, a row on a line. A missing
// value is null and its note is among the table's notes, with
// the column's key and the row, counted from 1. Notes, warnings and cautions are arrays even when empty. Runes that do not
// print are escaped, which changes no value.
func JSON(w io.Writer, doc table.Document) error {
	j := &jsonWriter{}
	j.encoder = json.NewEncoder(&j.buf)
	j.encoder.SetEscapeHTML(false)
	j.raw("{\n  \"schema\": ").value(Schema)
	j.raw(",\n  \"command\": ").value(doc.Command)
	j.raw(",\n  \"spec\": ").value(doc.Spec)
	j.raw(",\n  \"tables\": [")
	for i, t := range doc.Tables {
		if i > 0 {
			j.raw(",")
		}
		j.raw("\n    ").table(t, doc.AtVenues)
	}
	if len(doc.Tables) > 0 {
		j.raw("\n  ")
	}
	j.raw("],\n  \"warnings\": ").strings(doc.Warnings, "  ")
	j.raw(",\n  \"cautions\": ").strings(doc.Cautions, "  ")
	j.raw("\n}\n")
	if j.err != nil {
		return fmt.Errorf("writing JSON: %w", j.err)
	}
	_, err := w.Write(j.buf.Bytes())
	return err
}

// A jsonWriter puts values that encoding/json has encoded between keys whose order it keeps, which a map would not.
type jsonWriter struct {
	buf     bytes.Buffer
	encoder *json.Encoder
	err     error // the first
}

func (j *jsonWriter) raw(s string) *jsonWriter {
	j.buf.WriteString(s)
	return j
}

func (j *jsonWriter) value(v any) *jsonWriter {
	start := j.buf.Len()
	if err := j.encoder.Encode(v); err != nil && j.err == nil {
		j.err = err
	}
	if j.buf.Len() > start {
		j.buf.Truncate(j.buf.Len() - 1) // the encoder ends each value with a line break
	}
	j.escapeFrom(start)
	return j
}

// escapeFrom replaces the hidden runes written since start by their escapes. They can only stand inside a string.
func (j *jsonWriter) escapeFrom(start int) {
	written := j.buf.Bytes()[start:]
	if bytes.IndexFunc(written, hidden) < 0 {
		return
	}
	written = bytes.Clone(written)
	j.buf.Truncate(start)
	for _, r := range string(written) {
		switch {
		case !hidden(r):
			j.buf.WriteRune(r)
		case r > 0xffff:
			r -= 0x10000
			fmt.Fprintf(&j.buf, `\u%04x\u%04x`, 0xd800+r>>10, 0xdc00+r&0x3ff)
		default:
			fmt.Fprintf(&j.buf, `\u%04x`, r)
		}
	}
}

func (j *jsonWriter) table(t table.Table, atVenues bool) {
	j.raw("{\n      \"name\": ").value(t.Name)
	j.raw(",\n      \"trim\": ").value(t.Trim)
	if atVenues {
		j.raw(",\n      \"venue\": ").value(t.Venue)
	}
	j.raw(",\n      \"rows\": [")
	keys := make([]string, len(t.Columns))
	for i, c := range t.Columns {
		start := j.buf.Len()
		j.value(c.Key)
		keys[i] = string(j.buf.Bytes()[start:]) + ": "
		j.buf.Truncate(start)
	}
	for i, row := range t.Rows {
		if i > 0 {
			j.raw(",")
		}
		j.raw("\n        {")
		for k, c := range t.Columns {
			if k > 0 {
				j.raw(", ")
			}
			j.raw(keys[k])
			if k < len(row) {
				j.cell(row[k], c)
			} else {
				j.raw("null")
			}
		}
		j.raw("}")
	}
	if len(t.Rows) > 0 {
		j.raw("\n      ")
	}
	j.raw("],\n      \"notes\": ").strings(scriptNotes(t), "      ")
	j.raw("\n    }")
}

func (j *jsonWriter) cell(cell table.Cell, column table.Column) {
	switch cell.Content() {
	case table.NumberCell:
		if x, ok := contract(cell, column); ok {
			j.value(x)
			return
		}
		j.raw("null")
	case table.TextCell, table.UnitCell:
		j.value(cell.Text())
	case table.ListCell:
		j.raw("[")
		for i, item := range cell.List() {
			if i > 0 {
				j.raw(", ")
			}
			j.value(item)
		}
		j.raw("]")
	case table.YesNoCell:
		j.value(cell.Yes())
	default:
		j.raw("null")
	}
}

func (j *jsonWriter) strings(items []string, indent string) {
	j.raw("[")
	for i, item := range items {
		if i > 0 {
			j.raw(",")
		}
		j.raw("\n" + indent + "  ").value(item)
	}
	if len(items) > 0 {
		j.raw("\n" + indent)
	}
	j.raw("]")
}

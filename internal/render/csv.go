package render

import (
	"bytes"
	"encoding/csv"
	"fmt"
	"io"
	"slices"
	"strconv"
	"strings"

	"bellmouth/internal/table"
)

// CSV writes the document's tables and returns the notes on tables as a whole, which have no place in the data.
//
// Each table has a head of keys, whose first two columns are always "table" and "trim", the third "venue" where the document's venues were asked
// for by name, and whose last is "notes", and an empty line stands before the next; of picked tables those with the same keys have one head. Numbers are as in JSON. A missing value is empty. The notes on a row's
// cells stand at its end, each with its column's key before it. A list is joined by "; ", a truth is true or false.
func CSV(w io.Writer, doc table.Document) (notes []string, err error) {
	var buf bytes.Buffer
	for i, t := range doc.Tables {
		again := i > 0 && doc.Picked && sameKeys(t, doc.Tables[i-1])
		if i > 0 && !again {
			buf.WriteByte('\n')
		}
		if err := csvTable(&buf, t, doc.AtVenues, !again); err != nil {
			return nil, fmt.Errorf("writing CSV: %w", err)
		}
		for _, note := range t.Notes {
			notes = append(notes, heading(t)+": "+Clean(note))
		}
	}
	_, err = w.Write(buf.Bytes())
	return notes, err
}

func sameKeys(a, b table.Table) bool {
	return slices.EqualFunc(a.Columns, b.Columns, func(a, b table.Column) bool { return a.Key == b.Key })
}

func csvTable(buf *bytes.Buffer, t table.Table, atVenues, head bool) error {
	w := csv.NewWriter(buf)
	own, record := []string{Clean(t.Name), Clean(t.Trim)}, []string{"table", "trim"}
	if atVenues {
		own, record = append(own, Clean(t.Venue)), append(record, "venue")
	}
	for _, c := range t.Columns {
		record = append(record, Clean(c.Key))
	}
	record = append(record, "notes")
	if head {
		if err := w.Write(record); err != nil {
			return err
		}
	}
	for _, row := range t.Rows {
		record = append(record[:0], own...)
		for i, c := range t.Columns {
			field := ""
			if i < len(row) {
				field = csvField(row[i], c)
			}
			record = append(record, field)
		}
		record = append(record, rowNotes(t.Columns, row))
		if err := w.Write(record); err != nil {
			return err
		}
	}
	w.Flush()
	return w.Error()
}

// rowNotes returns what the cells of a row are noted with.
func rowNotes(columns []table.Column, row []table.Cell) string {
	var notes []string
	for i, c := range columns {
		if i < len(row) && row[i].Note() != "" {
			notes = append(notes, Clean(c.Key)+": "+Clean(row[i].Note()))
		}
	}
	return strings.Join(notes, "; ")
}

func csvField(cell table.Cell, column table.Column) string {
	switch cell.Content() {
	case table.NumberCell:
		x, ok := contract(cell, column)
		if !ok {
			return ""
		}
		return plainNumber(x)
	case table.TextCell:
		return Clean(cell.Text())
	case table.ListCell:
		return joined(cell.List(), "; ")
	case table.YesNoCell:
		return strconv.FormatBool(cell.Yes())
	}
	return ""
}

// plainNumber returns the shortest text that reads back as x, with an exponent only where encoding/json writes one too.
func plainNumber(x float64) string {
	if a := max(x, -x); a != 0 && (a < 1e-6 || a >= 1e21) {
		return strconv.FormatFloat(x, 'e', -1, 64)
	}
	return strconv.FormatFloat(x, 'f', -1, 64)
}

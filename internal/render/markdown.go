package render

import (
	"bytes"
	"io"
	"strings"

	"bellmouth/internal/table"
	"bellmouth/internal/units"
)

// Markdown writes the document as pipe tables under headings, with the same columns, digits and notes as text. What Markdown
// or HTML would take for markup is escaped.
func Markdown(w io.Writer, doc table.Document, opts Options) error {
	var buf bytes.Buffer
	for i, t := range doc.Tables {
		if i > 0 {
			buf.WriteByte('\n')
		}
		markdownTable(&buf, t, opts)
	}
	for _, caution := range doc.Cautions {
		buf.WriteString("\n" + cautionLead + " " + escapeMarkdown(Clean(caution)) + "\n")
	}
	_, err := w.Write(buf.Bytes())
	return err
}

func markdownTable(buf *bytes.Buffer, t table.Table, opts Options) {
	columns := visible(t, opts.System)
	var notes notebook
	name := "### " + escapeMarkdown(heading(t))
	if t.Layout != table.Grid {
		buf.WriteString(name + "\n\n")
	}
	switch t.Layout {
	case table.Tall, table.Pairs:
		markdownRow(buf, "figure", "value", "unit")
		markdownRow(buf, "---", "---:", "---")
		for _, row := range t.Rows {
			for _, c := range columns {
				f := c.figure(row, opts.System, &notes)
				unit := f.unit
				if f.number && unit == "" {
					unit = c.unit.Name
				}
				markdownRow(buf, escapeMarkdown(Clean(c.Title)), escapeMarkdown(f.body)+f.mark, escapeMarkdown(unit))
			}
		}
	case table.Grid:
		for i, g := range grids(t, columns, opts.System) {
			if i > 0 {
				buf.WriteByte('\n')
			}
			buf.WriteString(name + ": " + escapeMarkdown(Clean(g.title)) + "\n\n")
			markdownWide(buf, g.columns, g.rows, opts.System, &notes)
		}
	case table.Beside:
		all, rows := beside(t, columns, opts.System)
		markdownWide(buf, all, rows, opts.System, &notes)
	default:
		markdownWide(buf, columns, t.Rows, opts.System, &notes)
	}
	// A blank line between them keeps each a paragraph of its own.
	for i, note := range notes.notes {
		buf.WriteString("\n" + superscript(i+1) + " " + escapeMarkdown(Clean(note)) + "\n")
	}
	for _, note := range t.Notes {
		buf.WriteString("\n" + escapeMarkdown(Clean(note)) + "\n")
	}
}

func markdownWide(buf *bytes.Buffer, columns []shown, rows [][]table.Cell, system units.System, notes *notebook) {
	heads, rules := make([]string, len(columns)), make([]string, len(columns))
	for i, c := range columns {
		heads[i] = escapeMarkdown(Clean(c.Title))
		if c.unit.Name != "" {
			heads[i] += " (" + escapeMarkdown(c.unit.Name) + ")"
		}
		rules[i] = "---"
		if rightAligned(rows, c.index) {
			rules[i] = "---:"
		}
	}
	markdownRow(buf, heads...)
	markdownRow(buf, rules...)
	fields := make([]string, len(columns))
	for _, row := range rows {
		for i, c := range columns {
			f := c.figure(row, system, notes)
			fields[i] = escapeMarkdown(f.body)
			if f.unit != "" {
				fields[i] += " " + escapeMarkdown(f.unit)
			}
			fields[i] += f.mark
		}
		markdownRow(buf, fields...)
	}
}

func markdownRow(buf *bytes.Buffer, fields ...string) {
	buf.WriteByte('|')
	for _, field := range fields {
		buf.WriteByte(' ')
		if field != "" {
			buf.WriteString(field + " ")
		}
		buf.WriteByte('|')
	}
	buf.WriteByte('\n')
}

// escapeMarkdown puts a backslash before whatever could start markup inside a line.
func escapeMarkdown(s string) string {
	if !strings.ContainsAny(s, markup) {
		return s
	}
	var b strings.Builder
	for _, r := range s {
		if strings.ContainsRune(markup, r) {
			b.WriteByte('\\')
		}
		b.WriteRune(r)
	}
	return b.String()
}

const markup = "\\`*_[]<>&|~#"

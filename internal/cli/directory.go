package cli

import (
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"strings"

	"bellmouth/internal/render"
	"bellmouth/internal/table"
)

// extensions are those of the files that a directory gets, by format.
var extensions = map[string]string{render.TextFormat: ".txt", render.CSVFormat: ".csv", render.JSONFormat: ".json", render.MarkdownFormat: ".md"}

// notesFile holds what the other files of a directory have no place for.
const notesFile = "notes.txt"

// toDirectory reports whether the output goes to a directory, one file a table: its name ends with a slash.
func (o *outputOptions) toDirectory() bool {
	return strings.HasSuffix(o.output, "/") || strings.HasSuffix(o.output, string(filepath.Separator))
}

// A part is one file of a directory.
type part struct {
	path  string
	draw  func(io.Writer) error
	wrote func(data []byte) bool // whether it has written that before
}

// writeDirectory writes one file for each name of a table, with the table of every trim, and the notes beside them. Nothing is written when one of
// the files may not be replaced.
func (o *outputOptions) writeDirectory(s streams, doc table.Document) error {
	parts, err := o.parts(s, doc)
	if err != nil {
		return err
	}
	for _, p := range parts {
		if err := o.mayReplace(doc.Command, p.path, p.wrote); err != nil {
			return err
		}
	}
	if err := os.Mkdir(filepath.Clean(o.output), 0o755); err != nil && !errors.Is(err, fs.ErrExist) {
		var p *fs.PathError
		if errors.As(err, &p) {
			err = p.Err
		}
		return fmt.Errorf("--output %s cannot be made: %w", o.output, err)
	}
	for _, p := range parts {
		if err := render.WriteFile(p.path, p.draw); err != nil {
			return err
		}
	}
	return nil
}

// parts returns the files of a directory.
func (o *outputOptions) parts(s streams, doc table.Document) ([]part, error) {
	var names []string
	byName := map[string]*table.Document{}
	var parts []part
	for _, t := range doc.Tables {
		if o.grid && t.Layout == table.Grid {
			parts = append(parts, o.gridParts(t)...)
			continue
		}
		name := table.Canonical(t.Name)
		if byName[name] == nil {
			names = append(names, name)
			byName[name] = &table.Document{Command: doc.Command, Spec: doc.Spec, AtVenues: doc.AtVenues, Picked: true}
			if o.format == render.JSONFormat {
				byName[name].Cautions = doc.Cautions
			}
		}
		byName[name].Tables = append(byName[name].Tables, t)
	}
	for _, name := range names {
		draw, err := o.renderer(s, *byName[name])
		if err != nil {
			return nil, err
		}
		var drawn strings.Builder // so that nothing is written when one of the files cannot be drawn
		if err := draw(&drawn); err != nil {
			return nil, err
		}
		parts = append(parts, part{filepath.Join(o.output, name+extensions[o.format]), writing(drawn.String()),
			func(data []byte) bool { return render.Wrote(o.format, data, *byName[name]) }})
	}
	if notes := o.notes(doc); notes != "" {
		title := fmt.Sprintf("bellmouth %s: what the other files have no place for\n\n", doc.Command)
		parts = append(parts, part{filepath.Join(o.output, notesFile), writing(title + notes),
			func(data []byte) bool { return strings.HasPrefix(string(data), title) }})
	}
	return parts, nil
}

// writing returns what writes a text.
func writing(text string) func(io.Writer) error {
	return func(w io.Writer) error {
		_, err := io.WriteString(w, text)
		return err
	}
}

// gridParts returns a file for each figure of a plane, named by table, trim, venue where it was asked for, and key.
func (o *outputOptions) gridParts(t table.Table) []part {
	name := table.Canonical(t.Name)
	if t.Trim != "" {
		name += "-" + t.Trim
	}
	if t.Venue != "" {
		name += "@" + t.Venue // which neither name can hold
	}
	var parts []part
	for _, g := range render.CSVGrids(t, o.csvOptions()) {
		parts = append(parts, part{filepath.Join(o.output, name+"-"+g.Key+extensions[o.format]), g.Write, g.Wrote})
	}
	return parts
}

// notes returns what the files of a directory have no place for, a line each; empty where there is nothing.
func (o *outputOptions) notes(doc table.Document) string {
	var lines []string
	if o.format == render.CSVFormat {
		lines = render.TableNotes(doc.Tables)
		for _, t := range doc.Tables {
			if o.grid {
				lines = append(lines, render.GridNotes(t, o.csvOptions())...)
			}
		}
	}
	for _, c := range doc.Cautions {
		lines = append(lines, "caution: "+render.Clean(c))
	}
	if lines == nil {
		return ""
	}
	return strings.Join(lines, "\n") + "\n"
}

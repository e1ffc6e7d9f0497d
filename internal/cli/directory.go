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
var extensions = map[string]string{"table": ".txt", "csv": ".csv", "json": ".json", "markdown": ".md"}

// notesFile holds what the other files of a directory have no place for.
const notesFile = "notes.txt"

// toDirectory reports whether the output goes to a directory, one file a table: its name ends with a slash.
func (o *outputOptions) toDirectory() bool {
	return strings.HasSuffix(o.output, "/") || strings.HasSuffix(o.output, string(filepath.Separator))
}

// A part is one file of a directory.
type part struct {
	path string
	draw func(io.Writer) error
}

// writeDirectory writes one file for each name of a table, with the table of every trim, and the notes beside them. Nothing is written when a file
// is there already, unless forced, or is what the tables are computed from.
func (o *outputOptions) writeDirectory(s streams, doc table.Document) error {
	parts, err := o.parts(s, doc)
	if err != nil {
		return err
	}
	for _, p := range parts {
		if err := mayWrite(p.path, o.force); err != nil {
			return err
		}
		if err := o.spares(p.path); err != nil {
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
	fmt.Fprintf(s.err, "wrote %s to %s\n", plural(len(parts), "file"), render.Clean(o.output))
	return nil
}

// parts returns the files of a directory.
func (o *outputOptions) parts(s streams, doc table.Document) ([]part, error) {
	var names []string
	byName := map[string]*table.Document{}
	for _, t := range doc.Tables {
		name := table.Canonical(t.Name)
		if byName[name] == nil {
			names = append(names, name)
			byName[name] = &table.Document{Command: doc.Command, Spec: doc.Spec, AtVenues: doc.AtVenues, Picked: true}
			if o.format == "json" {
				byName[name].Cautions = doc.Cautions
			}
		}
		byName[name].Tables = append(byName[name].Tables, t)
	}
	var parts []part
	notes := strings.Builder{}
	for _, name := range names {
		draw, told, err := o.renderer(s, *byName[name])
		if err != nil {
			return nil, err
		}
		var drawn strings.Builder // so that its notes are known, and nothing is written when one of the files cannot be drawn
		if err := draw(&drawn); err != nil {
			return nil, err
		}
		for _, n := range *told {
			fmt.Fprintf(&notes, "%s\n", n)
		}
		parts = append(parts, part{filepath.Join(o.output, name+extensions[o.format]), func(w io.Writer) error {
			_, err := io.WriteString(w, drawn.String())
			return err
		}})
	}
	for _, c := range doc.Cautions {
		fmt.Fprintf(&notes, "caution: %s\n", render.Clean(c))
	}
	return append(parts, part{filepath.Join(o.output, notesFile), func(w io.Writer) error {
		_, err := io.WriteString(w, notes.String())
		return err
	}}), nil
}

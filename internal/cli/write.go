package cli

import (
	"bytes"
	"fmt"
	"io"
	"os"
	"slices"
	"strconv"

	"golang.org/x/term"

	"bellmouth/internal/render"
	"bellmouth/internal/table"
	"bellmouth/internal/units"
)

// write renders a document to standard output or to the file asked for, and its warnings to standard error.
func (o *outputOptions) write(s streams, doc table.Document) error {
	doc.AtVenues = o.venue != ""
	doc, err := o.pick.Of(doc)
	if err != nil {
		return fmt.Errorf("%s has %w", doc.Command, err)
	}
	if s.seen != nil {
		s.seen(doc)
	}
	for _, w := range slices.Concat(o.told, doc.Warnings) {
		fmt.Fprintf(s.err, "bellmouth: warning: %s\n", render.Clean(w))
	}
	if o.toDirectory() {
		return o.writeDirectory(s, doc)
	}
	draw, _, err := o.renderer(s, doc)
	if err != nil {
		return err
	}
	if !o.toStandardOutput() {
		err = render.WriteFile(o.output, draw)
	} else {
		var b bytes.Buffer // so that one write goes out, and none when something fails
		if err = draw(&b); err == nil {
			_, err = s.out.Write(b.Bytes())
		}
	}
	if err != nil {
		return err
	}
	if o.format == "csv" { // which has no place for them
		for _, c := range doc.Cautions {
			fmt.Fprintf(s.err, "bellmouth: caution: %s\n", render.Clean(c))
		}
	}
	return nil
}

// renderer returns what draws the document in the format asked for. notes are those on its tables that the format has no place for.
func (o *outputOptions) renderer(s streams, doc table.Document) (draw func(io.Writer) error, notes *[]string, err error) {
	notes = &[]string{}
	system, err := units.ParseSystem(o.units)
	if err != nil {
		return nil, nil, fmt.Errorf("--units: %w", err)
	}
	switch o.format {
	case "json":
		return func(w io.Writer) error { return render.JSON(w, doc) }, notes, nil
	case "csv":
		return func(w io.Writer) error {
			var err error
			*notes, err = render.CSV(w, doc)
			return err
		}, notes, nil
	case "markdown":
		return func(w io.Writer) error { return render.Markdown(w, doc, render.Options{System: system}) }, notes, nil
	}
	opts := render.Options{System: system}
	if o.toStandardOutput() {
		opts.Color, opts.Width = terminal(s.out)
	}
	return func(w io.Writer) error { return render.Text(w, doc, opts) }, notes, nil
}

// widest is the width that tables are laid out for; a wider terminal makes them no easier to read.
const widest = 100

// narrowest is the least width that a table is laid out for.
const narrowest = 40

// columnsOf reads the width that the environment gives for what is no terminal, 0 for the default.
func columnsOf(text string) int {
	n, err := strconv.Atoi(text)
	if err != nil || n <= 0 {
		return 0
	}
	return min(max(n, narrowest), widest)
}

// terminal tells whether colour may be used and how wide the output may be, 0 for the default.
func terminal(w io.Writer) (color bool, width int) {
	if watching, ok := w.(*watched); ok {
		w = watching.w
	}
	f, ok := w.(*os.File)
	if !ok || !term.IsTerminal(int(f.Fd())) {
		return false, columnsOf(os.Getenv("COLUMNS"))
	}
	color = os.Getenv("NO_COLOR") == "" && os.Getenv("TERM") != "dumb"
	if columns, _, err := term.GetSize(int(f.Fd())); err == nil && columns > 0 {
		width = min(columns, widest)
	}
	return color, width
}

package cli

import (
	"bytes"
	"context"
	"fmt"
	"io"
	"os"
	"slices"
	"strconv"
	"strings"

	"golang.org/x/term"

	"bellmouth/internal/render"
	"bellmouth/internal/table"
	"bellmouth/internal/units"
)

// write renders a document to standard output or to the file asked for, and its warnings to standard error. A document of which the computing was
// interrupted is not written.
func (o *outputOptions) write(ctx context.Context, s streams, doc table.Document) error {
	if err := ctx.Err(); err != nil {
		return err
	}
	doc.AtVenues = o.venue != ""
	doc, err := o.pick.Of(doc)
	if err != nil {
		return fmt.Errorf("%s has %w", doc.Command, err)
	}
	if err := o.planeIn(doc); err != nil {
		return err
	}
	if s.seen != nil {
		s.seen(doc)
	}
	doc = doc.In(systemOf(o.format, o.units))
	if !o.toStandardOutput() && !o.toDirectory() {
		if err := o.mayReplace(doc.Command, o.output, func(data []byte) bool { return render.Wrote(o.format, data, doc) }); err != nil {
			return err
		}
	}
	o.warn(s, slices.Concat(o.told, doc.Warnings))
	if o.toDirectory() {
		return o.writeDirectory(s, doc)
	}
	if o.grid { // which has no place for what holds of its points
		for _, t := range doc.Tables {
			o.warn(s, render.GridNotes(t, o.csvOptions()))
		}
	}
	draw, err := o.renderer(s, doc)
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
	return err
}

// systemOf returns the system that words are in, on standard error too. Those of JSON are metric whatever is asked for, and those of CSV beside its keys
// in SI, which have rpm and deg.
func systemOf(format, name string) units.System {
	system, err := units.ParseSystem(name)
	if err != nil || format == render.JSONFormat || format == render.CSVFormat && system == units.SI {
		return units.Metric
	}
	return system
}

// warn writes warnings to standard error, a line each.
func (o *outputOptions) warn(s streams, warnings []string) {
	for _, w := range warnings {
		fmt.Fprintf(s.err, "bellmouth: warning: %s\n", render.Clean(units.Resolve(w, systemOf(o.format, o.units))))
	}
}

// renderer returns what draws the document in the format asked for.
func (o *outputOptions) renderer(s streams, doc table.Document) (draw func(io.Writer) error, err error) {
	system, err := units.ParseSystem(o.units)
	if err != nil {
		return nil, fmt.Errorf("--units: %w", err)
	}
	switch o.format {
	case render.JSONFormat:
		return func(w io.Writer) error { return render.JSON(w, doc) }, nil
	case render.CSVFormat:
		return func(w io.Writer) error { return render.CSV(w, doc, o.csvOptions()) }, nil
	case render.MarkdownFormat:
		return func(w io.Writer) error { return render.Markdown(w, doc, render.Options{System: system}) }, nil
	}
	opts := render.Options{System: system}
	if o.toStandardOutput() {
		opts.Color, opts.Width = terminal(s.out)
	}
	return func(w io.Writer) error { return render.Text(w, doc, opts) }, nil
}

// csvOptions returns how CSV is written. Its keys name SI units already, so that only another system has to be named beside them.
func (o *outputOptions) csvOptions() render.CSVOptions {
	opts := render.CSVOptions{Grid: o.grid}
	if system, err := units.ParseSystem(o.units); err == nil && o.unitsChosen() && system != units.SI {
		opts.Units = &system
	}
	return opts
}

// planeIn refuses --grid where no plane is printed.
func (o *outputOptions) planeIn(doc table.Document) error {
	if !o.grid {
		return nil
	}
	var names []string
	for _, t := range doc.Tables {
		if t.Layout == table.Grid {
			return nil
		}
		if !slices.Contains(names, t.Name) {
			names = append(names, t.Name)
		}
	}
	return fmt.Errorf("--grid wants a plane, a table over two axes, and none of these is one: %s", strings.Join(names, ", "))
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

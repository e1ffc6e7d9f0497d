package cli

import (
	"context"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"bellmouth/internal/boost"
	"bellmouth/internal/render"
	"bellmouth/internal/run"
	"bellmouth/internal/spec"
	"bellmouth/internal/table"
	"bellmouth/internal/units"
)

// outputOptions are the flags of every command that prints tables.
type outputOptions struct {
	format string
	units  string
	output string
	force  bool
	grid   bool
	pick   table.Pick
	venue  string

	unitsChosen func() bool // whether --units was given

	told   []string      // of the reading, for standard error
	inputs []fs.FileInfo // files that were read
}

// options are the flags of the commands that compute.
type options struct {
	outputOptions
	spec     string
	set      []string
	trim     string
	rpm      string
	pressure string
	boost    string
	place    placeOptions
	plane    bool // the command prints planes, whose speeds lie closer
}

var formats = []string{render.TextFormat, render.CSVFormat, render.JSONFormat, render.MarkdownFormat}

func (o *outputOptions) flags(cmd *cobra.Command) {
	f := cmd.Flags()
	f.SortFlags = false
	f.StringVar(&o.format, "format", render.TextFormat, "`FORMAT`: table, csv, json or markdown")
	f.StringVar(&o.units, "units", "metric", "`UNITS`: metric (bar, g/s), imperial (psi, lb/min) or si; csv is in SI\nunless metric or imperial is asked for, json always")
	o.unitsChosen = func() bool { return f.Changed("units") }
	f.StringVarP(&o.output, "output", "o", "", "write to `FILE`, whole or not at all, and over none but one that this\n"+
		"command wrote in this format; - is standard output; DIR/ gets a file\nfor each table")
	f.BoolVar(&o.force, "force", false, "let --output replace any file but an input")
	f.BoolVar(&o.grid, "grid", false, "print each figure of a plane as a grid of its own, in csv")
	f.StringSliceVar(&o.pick.Tables, "table", nil, "print only the tables `NAME,NAME`, such as operating-points")
	f.StringSliceVar(&o.pick.Columns, "columns", nil, "print only the columns `KEY,KEY`, by their keys in CSV and JSON")
	f.StringVar(&o.pick.Sort, "sort", "", "let the rows rise by the column `KEY`, or fall by -KEY")
}

func (o *options) flags(cmd *cobra.Command, overSpeed bool) {
	f := cmd.Flags()
	f.SortFlags = false
	o.specFlags(cmd)
	o.caseFlags(cmd)
	if overSpeed {
		f.StringVar(&o.rpm, "rpm", "", "engine speeds in rpm, `LO:HI:STEP` or one (default 1500:limiter:500)")
	}
	o.outputOptions.flags(cmd)
}

// specFlags are the flags of a command that reads a spec.
func (o *options) specFlags(cmd *cobra.Command) {
	cmd.Flags().StringArrayVar(&o.set, "set", nil, "take `PATH=VALUE` as if the spec said it, such as\n\"intake.restrictor.bore=36 mm\"; again for more")
}

// caseFlags are the flags that choose the trims, and where they run.
func (o *options) caseFlags(cmd *cobra.Command) {
	f := cmd.Flags()
	f.StringVar(&o.trim, "trim", "", "compute only the trim `NAME`, or several as A,B (default: all trims)")
	f.StringVar(&o.venue, "venue", "", "compute at the spec's venue `NAME`, at several as A,B or, by the\nname all, at each; it takes the place of venue: in spec and trims")
}

// pressureFlag is the flag for the manifold pressures of planes.
func (o *options) pressureFlag(cmd *cobra.Command) {
	cmd.Flags().StringVar(&o.pressure, "pressure", "", "manifold pressures, absolute: `RANGE` is LO:HI:STEP or one, in bar or\nas in \"40:250:15 kPa\" (default 0.4 bar to full load)")
}

// planeFlags are the flags of a command that prints planes of engine speed and manifold pressure.
func (o *options) planeFlags(cmd *cobra.Command) {
	o.plane = true
	f := cmd.Flags()
	f.SortFlags = false
	o.specFlags(cmd)
	o.caseFlags(cmd)
	f.StringVar(&o.rpm, "rpm", "", "engine speeds in rpm, `LO:HI:STEP` or one (default 1500 to limiter)")
	o.pressureFlag(cmd)
	o.outputOptions.flags(cmd)
}

// toStandardOutput reports whether the output goes there rather than to a file.
func (o *outputOptions) toStandardOutput() bool { return o.output == "" || o.output == standardOutput }

// standardOutput is the name that stands for standard output where a file may be named.
const standardOutput = "-"

// check finds what is wrong with the flags before anything is computed.
func (o *outputOptions) check() error {
	if !slices.Contains(formats, o.format) {
		return fmt.Errorf("--format %q is none of %s", o.format, strings.Join(formats, ", "))
	}
	if _, err := units.ParseSystem(o.units); err != nil {
		return fmt.Errorf("--units: %w", err)
	}
	if o.grid && o.format != render.CSVFormat {
		return errors.New("--grid lays out CSV, since text has planes as grids anyway; want --format csv")
	}
	return nil
}

// aFile reports whether there is a file at the path. A device or a pipe is no file to lose.
func aFile(path string) bool {
	info, err := os.Stat(path)
	return err == nil && info.Mode().IsRegular()
}

// mayWrite refuses to write over a file that exists, unless forced.
func mayWrite(path string, force bool) error {
	if aFile(path) && !force {
		return fmt.Errorf("%s exists; --force replaces it", path)
	}
	return nil
}

// mayReplace refuses to write over an input, and over a file that exists, unless forced or the command wrote it. wrote looks at what is in it.
func (o *outputOptions) mayReplace(command, path string, wrote func(data []byte) bool) error {
	if err := o.spares(path); err != nil {
		return err
	}
	if o.force || !aFile(path) {
		return nil
	}
	if data, err := os.ReadFile(path); err == nil && wrote(data) {
		return nil
	}
	return fmt.Errorf("%s exists and is no %s that %s wrote; --force replaces it", path, formatNames[o.format], command)
}

// formatNames are what messages call the formats.
var formatNames = map[string]string{render.TextFormat: "text", render.CSVFormat: "CSV", render.JSONFormat: "JSON", render.MarkdownFormat: "Markdown"}

// read reads the spec, from a file or standard input, with what is set over it, and more over that.
func (o *options) read(ctx context.Context, in io.Reader, more ...spec.Setting) (*spec.Spec, error) {
	settings := make([]spec.Setting, len(o.set), len(o.set)+len(more))
	for i, text := range o.set {
		var err error
		if settings[i], err = spec.ParseSetting(text); err != nil {
			return nil, fmt.Errorf("--set: %w", err)
		}
	}
	settings = append(settings, more...)
	return unlessInterrupted(ctx, func() (*spec.Spec, error) { // standard input and pipes may keep one waiting
		if o.spec == standardInput {
			return spec.LoadFrom(in, settings...)
		}
		return spec.Load(o.spec, settings...)
	})
}

// standardInput is the name that stands for standard input where a spec may be named.
const standardInput = "-"

// load reads the spec and returns the trims asked for.
func (o *options) load(ctx context.Context, from streams) (*spec.Spec, []*spec.Trim, error) {
	if err := o.check(); err != nil {
		return nil, nil, err
	}
	s, err := o.read(ctx, from.in)
	if err != nil {
		return nil, nil, err
	}
	if err := o.sparesInput(s, from.in); err != nil {
		return nil, nil, err
	}
	o.told = slices.Concat(s.Remarks, o.hiddenByVenue())
	names := s.Trims()
	if o.trim != "" {
		if names, err = listed("--trim", "trim", o.trim); err != nil {
			return nil, nil, err
		}
	}
	venues, err := o.venues(s)
	if err != nil {
		return nil, nil, err
	}
	var trims []*spec.Trim
	for _, venue := range venues {
		for _, name := range names {
			t, err := s.TrimAt(name, venue)
			if err != nil {
				return nil, nil, err
			}
			trims = append(trims, &t)
		}
	}
	if err := waiversKnown(s.Path, trims); err != nil {
		return nil, nil, err
	}
	return s, trims, nil
}

// listed returns the names that a flag has with commas between, in their order.
func listed(flag, what, text string) ([]string, error) {
	names := strings.Split(text, ",")
	for i := range names {
		names[i] = strings.TrimSpace(names[i])
		if names[i] == "" {
			return nil, fmt.Errorf("%s %q names an empty %s; want names with commas between", flag, text, what)
		}
		if slices.Contains(names[:i], names[i]) {
			return nil, fmt.Errorf("%s %q names %s twice", flag, text, names[i])
		}
	}
	return names, nil
}

// hiddenByVenue returns what is set of a venue that is not computed at, one line each.
func (o *options) hiddenByVenue() []string {
	var lines []string
	for _, text := range o.set {
		path, _, _ := strings.Cut(text, "=")
		path = strings.TrimSpace(path)
		keys := strings.Split(path, ".")
		if len(keys) > 2 && keys[0] == "trims" {
			keys = keys[2:]
		}
		if o.venue != "" && keys[0] == "venue" {
			lines = append(lines, fmt.Sprintf("--set %s does not reach what --venue %s computes; set venues.NAME and the key", path, o.venue))
		}
	}
	return lines
}

// sparesInput refuses to write over what was read, the spec or a file that it names, forced or not.
func (o *options) sparesInput(s *spec.Spec, in io.Reader) error {
	if file, ok := in.(*os.File); ok && o.spec == standardInput {
		o.readFrom(file.Stat())
	} else {
		o.readFrom(os.Stat(o.spec))
	}
	for _, name := range s.Trims() {
		t, err := s.Trim(name)
		if err != nil {
			continue
		}
		for _, path := range t.Files() {
			if !filepath.IsAbs(path) {
				path = filepath.Join(filepath.Dir(o.spec), path)
			}
			o.readFrom(os.Stat(path))
		}
	}
	if o.toStandardOutput() {
		return nil
	}
	return o.spares(o.output)
}

// readFrom keeps a file that was read. What cannot be asked for, or is no file, cannot be lost.
func (o *outputOptions) readFrom(info fs.FileInfo, err error) {
	if err == nil && info.Mode().IsRegular() {
		o.inputs = append(o.inputs, info)
	}
}

// spares refuses a file to write that was read.
func (o *outputOptions) spares(path string) error {
	out, err := os.Stat(path)
	if err != nil {
		return nil
	}
	for _, in := range o.inputs {
		if os.SameFile(in, out) {
			return fmt.Errorf("--output %s would overwrite what it is computed from; name another file", path)
		}
	}
	return nil
}

// suited returns the trims that have a part a command is about, and a warning for each that lacks it. When none has it,
// the error is the spec's, which names what is missing.
func suited(command string, trims []*spec.Trim, paths ...string) (fit []*spec.Trim, warnings []string, err error) {
	for _, t := range trims {
		if lacking := t.Need(command, paths...); lacking != nil {
			if err == nil {
				err = lacking
			}
			warnings = once(warnings, fmt.Sprintf("trim %s has no %s and is left out", t.Name, strings.Join(paths, " or ")))
			continue
		}
		fit = append(fit, t)
	}
	if len(fit) == 0 {
		return nil, nil, err
	}
	return fit, warnings, nil
}

const (
	perRPM      = math.Pi / 30 // rad/s
	lowestSpeed = 500          // rpm; below it no engine runs under load
	speedStep   = 500          // rpm
	mostSpeeds  = 2000         // in one range: a step below 15 rpm tells nothing more
)

// speeds returns the engine speeds asked for, rad/s, for a trim.
func (o *options) speeds(t *spec.Trim) ([]float64, error) {
	limiter := t.Engine.Limiter
	if o.rpm == "" {
		lo, step := run.FirstSpeed(limiter), speedStep*perRPM
		if o.plane {
			step = planeStep(lo, limiter)
		}
		return exact(boost.Speeds(lo, limiter, step)), nil
	}
	lo, hi, step, err := parseSpeeds(o.rpm)
	if err != nil {
		return nil, err
	}
	if hi*perRPM > limiter*(1+1e-9) {
		return nil, fmt.Errorf("--rpm %s goes beyond the limiter of trim %s, %.0f rpm", o.rpm, t.Name, limiter/perRPM)
	}
	if step == 0 {
		return exact([]float64{lo * perRPM}), nil
	}
	return exact(boost.Speeds(lo*perRPM, hi*perRPM, step*perRPM)), nil
}

// exact takes off what adding steps up left, so that 8000 rpm is the number that the spec has for it: a table that ends
// there has not been left.
func exact(speeds []float64) []float64 {
	for i, s := range speeds {
		speeds[i] = math.Round(s/perRPM*1e6) / 1e6 * math.Pi / 30
	}
	return speeds
}

// parseSpeeds reads a range of engine speeds, rpm; step is 0 for a single speed.
func parseSpeeds(text string) (lo, hi, step float64, err error) {
	parts := strings.Split(text, ":")
	if len(parts) != 1 && len(parts) != 3 {
		return 0, 0, 0, fmt.Errorf("--rpm %q is neither LO:HI:STEP, such as 2000:7500:250, nor one speed", text)
	}
	values := make([]float64, len(parts))
	for i, part := range parts {
		part = strings.TrimSpace(part)
		if part == "" {
			return 0, 0, 0, fmt.Errorf("--rpm %q is neither LO:HI:STEP, such as 2000:7500:250, nor one speed", text)
		}
		if _, unit := units.Split(part); unit == "" {
			part += " rpm"
		}
		v, err := units.Parse(part, units.Speed)
		if err != nil {
			return 0, 0, 0, fmt.Errorf("--rpm %q: %w", text, err)
		}
		values[i] = v / perRPM
	}
	if values[0] < lowestSpeed-1e-9 {
		return 0, 0, 0, fmt.Errorf("--rpm %s begins below %d rpm", text, lowestSpeed)
	}
	if len(values) == 1 {
		return values[0], values[0], 0, nil
	}
	lo, hi, step = values[0], values[1], values[2]
	switch {
	case hi < lo:
		return 0, 0, 0, fmt.Errorf("--rpm %s runs downwards; want the lower speed first", text)
	case !(step > 0):
		return 0, 0, 0, fmt.Errorf("--rpm %s has a step that is not above zero", text)
	case (hi-lo)/step > mostSpeeds:
		return 0, 0, 0, fmt.Errorf("--rpm %s has more than %d speeds", text, mostSpeeds)
	}
	return lo, hi, step, nil
}

package cli

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"path/filepath"
	"slices"
	"strconv"
	"strings"

	"github.com/spf13/cobra"

	"bellmouth/internal/pool"
	"bellmouth/internal/sheet"
	"bellmouth/internal/spec"
	"bellmouth/internal/study"
	"bellmouth/internal/table"
)

// compareOptions are the flags of compare.
type compareOptions struct {
	options
	specs     []string
	vary      []string
	against   string
	lines     bool
	overSpeed []string

	linesChosen func() bool // whether --lines was given, with yes or no
}

const (
	fewVariants  = 4 // side by side; more are a line each
	mostVariants = 200
)

func newCompareCmd(s streams) *cobra.Command {
	var o compareOptions
	cmd := &cobra.Command{
		Use:   "compare SPEC [SPEC...]",
		Short: "Specs, trims, venues or values side by side: what differs in them and what they give",
		Long: `compare solves variants of an engine and prints what differs: the values of the spec, then the
figures of the summary and of every check at its worst, the largest change first. Figures that
read the same are left out. More than four variants get a line each, as with --lines.

The variants are every spec with every trim, every venue and every combination of values, named
A, B, C, ... in this order. --vary spans values, with | between them:

  --vary "intake.restrictor.bore=36 mm|38 mm|40 mm"
  --vary "compressor.map=a.csv, compressor.wheel=62 mm|b.csv, 58 mm"
  --vary "cooler=given|none"

The second has values that go together, as of a part that comes with several; each value may have
its path before it. The third compares what the spec gives with something else. A value may be a
table or a section on one line, in braces; one that holds a comma or | stands in quotes. Several
--vary give every combination. The values are laid over the trim of each variant, whatever the
trim itself says; --set lays a value over the spec of all.

Differences are from the first variant, or the one that --against names. --over-speed prints
figures of the operating points over engine speed, by their keys in boost's JSON.

A check that fails is told and is no exit status. Exit status: 0 well, 2 wrong input, 3 a point
of a variant has no solution.`,
		Example: "  bellmouth compare examples/hillclimb.yaml\n" +
			"  bellmouth compare examples/hillclimb.yaml --trim open --venue all --over-speed boost_pa\n" +
			"  bellmouth compare examples/hillclimb.yaml --trim open --vary \"engine.compression_ratio=8.8|9.2\"",
		Args: specArgs,
		RunE: func(cmd *cobra.Command, args []string) error {
			o.specs = args
			return runCompare(cmd.Context(), s, o)
		},
	}
	f := cmd.Flags()
	f.SortFlags = false
	f.StringArrayVar(&o.vary, "vary", nil, "let variants differ in a value of the spec, as `PATH=A|B`; again for every\ncombination")
	f.StringVar(&o.against, "against", "", "compare with the variant `LETTER`, or the number of it (default A)")
	f.BoolVar(&o.lines, "lines", false, "print a line for each variant (default with more than 4;\n--lines=false prints them side by side)")
	f.StringSliceVar(&o.overSpeed, "over-speed", nil, "print figures over engine speed too: `KEYS` of boost's JSON, such as\ntorque_nm,boost_pa")
	o.linesChosen = func() bool { return f.Changed("lines") }
	o.flags(cmd, true)
	return cmd
}

// specArgs wants one spec or more.
func specArgs(cmd *cobra.Command, args []string) error {
	see := fmt.Sprintf("; see %q", cmd.CommandPath()+" --help")
	if len(args) == 0 {
		return fmt.Errorf("%s wants one spec file or more; it got none%s", cmd.Name(), see)
	}
	for i, arg := range args {
		if arg == "" {
			return fmt.Errorf("%s wants spec files; the name of one is empty%s", cmd.Name(), see)
		}
		if slices.Contains(args[:i], arg) {
			return fmt.Errorf("%s names %s twice; --trim, --venue and --vary make variants of one spec%s", cmd.Name(), arg, see)
		}
	}
	return nil
}

// A compared variant is what is solved, with what makes it.
type compared struct {
	sheet.Variant
	trim *spec.Trim
}

func runCompare(ctx context.Context, s streams, o compareOptions) error {
	variants, err := o.variants(ctx, s)
	if err != nil {
		return err
	}
	against, err := reference(o.against, len(variants))
	if err != nil {
		return err
	}
	if err := o.solve(ctx, s, variants); err != nil {
		return err
	}
	vs := sheet.Variants{Against: against, Venues: o.venue != ""}
	trims := make([]*spec.Trim, len(variants))
	for i := range variants {
		vs.All, trims[i] = append(vs.All, variants[i].Variant), variants[i].trim
	}
	doc := table.Document{Command: "compare", Spec: strings.Join(o.specs, ", "), Cautions: cautions(trims)}
	inLines := len(variants) > fewVariants
	if o.linesChosen() {
		inLines = o.lines
	}
	if inLines {
		doc.Tables = append(doc.Tables, vs.Lines())
	} else {
		doc.Tables = append(doc.Tables, vs.List())
	}
	inputs, differ := vs.Inputs(spec.Differing(trims))
	if differ {
		doc.Tables = append(doc.Tables, inputs)
	} else {
		doc.Warnings = append(doc.Warnings, "the variants' specs differ in no value")
	}
	if !inLines {
		doc.Tables = append(doc.Tables, vs.Figures())
	}
	for i, key := range o.overSpeed {
		if slices.Contains(o.overSpeed[:i], key) {
			continue
		}
		t, err := vs.OverSpeed(strings.TrimSpace(key))
		if err != nil {
			return fmt.Errorf("--over-speed: %w", err)
		}
		doc.Tables = append(doc.Tables, t)
	}
	out := o.outputOptions
	out.venue = "" // a column of the tables, which hold for several
	if err := out.write(ctx, s, doc); err != nil {
		return err
	}
	var points []error
	for i := range variants {
		v := &variants[i]
		for _, err := range allAtVenue(v.trim, v.Run.Unsolved()) {
			points = append(points, fmt.Errorf("variant %s: %w", v.Letter, err))
		}
	}
	if points != nil {
		return &unsolvedError{points}
	}
	return nil
}

// reference returns the index of the variant that --against names.
func reference(text string, n int) (int, error) {
	if text == "" {
		return 0, nil
	}
	for i := range n {
		if strings.EqualFold(text, letter(i)) || text == strconv.Itoa(i+1) {
			return i, nil
		}
	}
	return 0, fmt.Errorf("--against %q names no variant; want %s to %s, or 1 to %d", text, letter(0), letter(n-1), n)
}

// letter returns the name of a variant: A to Z, then AA and on.
func letter(i int) string {
	name := ""
	for i++; i > 0; i = (i - 1) / 26 {
		name = string(rune('A'+(i-1)%26)) + name
	}
	return name
}

// variants reads the specs and returns the variants in their order: specs, trims, venues, values.
func (o *compareOptions) variants(ctx context.Context, s streams) ([]compared, error) {
	if err := o.check(); err != nil {
		return nil, err
	}
	varies, err := parseVaries(o.vary)
	if err != nil {
		return nil, err
	}
	if err := o.reaches(varies); err != nil {
		return nil, err
	}
	o.told = o.hiddenByVenue()
	in, err := o.buffered(ctx, s.in)
	if err != nil {
		return nil, err
	}
	choices := combinations(varies)
	// What the specs have is known once they have been read as they stand.
	type file struct {
		name          string
		trims, venues []string
	}
	var files []file
	n := 0
	for _, path := range o.specs {
		o.spec = path
		sp, err := o.read(ctx, in())
		if err != nil {
			return nil, err
		}
		f := file{name: path, trims: sp.Trims()}
		if o.trim != "" {
			if f.trims, err = listed("--trim", "trim", o.trim); err != nil {
				return nil, err
			}
		}
		if f.venues, err = o.venues(sp); err != nil {
			return nil, err
		}
		for _, remark := range sp.Remarks {
			o.told = once(o.told, remark)
		}
		for _, trim := range f.trims {
			for _, venue := range f.venues {
				t, err := sp.TrimAt(trim, venue)
				if err != nil {
					return nil, err
				}
				for _, line := range added(&t, varies) {
					o.told = once(o.told, line)
				}
			}
		}
		files = append(files, f)
		n += len(f.trims) * len(f.venues) * len(choices)
	}
	switch {
	case n > mostVariants:
		return nil, fmt.Errorf("compare has %d variants; want at most %d", n, mostVariants)
	case n < 2:
		return nil, errors.New("compare has one variant; want a second spec, several trims or venues, or --vary")
	}
	makes := o.makes(varies, slices.ContainsFunc(files, func(f file) bool { return len(f.trims) > 1 || f.trims[0] != files[0].trims[0] }))
	all := make([]compared, 0, n)
	for _, f := range files {
		o.spec = f.name
		for _, trim := range f.trims {
			// The variants of a trim that differ in the venue share a reading.
			of := make([]*spec.Spec, len(choices))
			for _, venue := range f.venues {
				for i, c := range choices {
					v := compared{}
					v.Letter, v.Spec, v.Venue, v.MadeOf = letter(len(all)), f.name, venue, makes(f.name, trim, venue, c)
					for _, setting := range c {
						v.Values = append(v.Values, setting.Path+"="+setting.Value)
					}
					if of[i] == nil {
						if of[i], err = o.readWith(ctx, in(), trim, v.Letter, c); err != nil {
							return nil, v.inVariant(err)
						}
						if err := o.sparesInput(of[i], s.in); err != nil {
							return nil, err
						}
					}
					t, err := of[i].TrimAt(trim, venue)
					if err != nil {
						return nil, err
					}
					v.trim = &t
					all = append(all, v)
				}
			}
		}
	}
	return all, nil
}

// reaches refuses values of the venue where venues are asked for by name, which take its place.
func (o *compareOptions) reaches(varies []vary) error {
	for _, v := range varies {
		for _, path := range v.paths() {
			if first, _, _ := strings.Cut(path, "."); first == "venue" && o.venue != "" {
				return fmt.Errorf("--vary %q sets %s, which --venue %s takes the place of; want one of the two", v.flag, path, o.venue)
			}
		}
	}
	return nil
}

// added returns the parts that --vary gives a trim which has them not: one line each.
func added(t *spec.Trim, varies []vary) []string {
	var lines []string
	for _, v := range varies {
		for _, path := range v.paths() {
			if i := strings.LastIndexByte(path, '.'); i >= 0 && len(t.Lacks(path[:i])) > 0 {
				lines = append(lines, fmt.Sprintf("--vary %s gives the trim %s the section %s, which it does not have; --trim chooses trims", path, t.Name, path[:i]))
			}
		}
	}
	return lines
}

// buffered returns what gives standard input as often as it is read.
func (o *compareOptions) buffered(ctx context.Context, in io.Reader) (func() io.Reader, error) {
	if !slices.Contains(o.specs, standardInput) {
		return func() io.Reader { return in }, nil
	}
	data, err := unlessInterrupted(ctx, func() ([]byte, error) { return spec.ReadAll(in) })
	if err != nil {
		return nil, err
	}
	return func() io.Reader { return bytes.NewReader(data) }, nil
}

// readWith reads the spec with a choice of values laid over one of its trims.
func (o *compareOptions) readWith(ctx context.Context, in io.Reader, trim, letter string, c choice) (*spec.Spec, error) {
	over := make([]spec.Setting, len(c))
	for i, s := range c {
		s.Trim, s.From = trim, fmt.Sprintf("--vary %s, variant %s", s.Path, letter)
		over[i] = s
	}
	return o.read(ctx, in, over...)
}

// makes returns what words what a variant is made of, as far as it differs between them.
func (o *compareOptions) makes(varies []vary, trims bool) func(file, trim, venue string, c choice) string {
	var paths []string
	for _, v := range varies {
		paths = append(paths, v.paths()...)
	}
	short := shortPaths(paths)
	names := map[string]string{}
	for _, path := range o.specs {
		base := strings.TrimSuffix(filepath.Base(path), filepath.Ext(path))
		names[path] = base
		for _, other := range o.specs {
			if other != path && strings.TrimSuffix(filepath.Base(other), filepath.Ext(other)) == base {
				names[path] = path
			}
		}
	}
	return func(file, trim, venue string, c choice) string {
		var parts []string
		if len(o.specs) > 1 {
			parts = append(parts, names[file])
		}
		if trims {
			parts = append(parts, trim)
		}
		if venue != "" {
			parts = append(parts, venue)
		}
		for _, s := range c {
			if len(paths) > 1 { // a note below the table names them
				parts = append(parts, s.Value)
			} else {
				parts = append(parts, short[s.Path]+" "+s.Value)
			}
		}
		if parts == nil {
			return "as given"
		}
		return strings.Join(parts, ", ")
	}
}

// inVariant says which variant an error is of. What is wrong with a spec has lines of its own; what --vary itself sets says so already, and where the
// variant has no values the spec as it stands is wrong.
func (c *compared) inVariant(err error) error {
	var bad *spec.Error
	switch {
	case !errors.As(err, &bad):
		return fmt.Errorf("variant %s: %w", c.Letter, err)
	case len(c.Values) == 0:
		return err
	}
	told := spec.Error{Problems: slices.Clone(bad.Problems), Omitted: bad.Omitted}
	for i := range told.Problems {
		if p := &told.Problems[i]; !strings.HasPrefix(p.File, "--vary") {
			p.Message += " (variant " + c.Letter + ")"
		}
	}
	return &told
}

// solve solves and looks over the variants.
func (o *compareOptions) solve(ctx context.Context, s streams, variants []compared) error {
	solve := s.solve
	if solve == nil {
		solve = sheet.Solve
	}
	return pool.Each(ctx, len(variants), func() func(int) error {
		return func(i int) error {
			if err := variants[i].solve(ctx, o, solve); err != nil {
				return variants[i].inVariant(atVenue(variants[i].trim, err))
			}
			return nil
		}
	})
}

// solve solves and looks over the variant.
func (c *compared) solve(ctx context.Context, o *compareOptions, solve solver) error {
	speeds, err := o.speeds(c.trim)
	if err != nil {
		return err
	}
	if c.Run, err = solve(ctx, "compare", c.trim, speeds); err != nil {
		return err
	}
	c.Variant.Variant, err = study.Look(c.Run.Review())
	return err
}

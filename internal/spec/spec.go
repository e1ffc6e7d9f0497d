// Package spec reads the spec, the YAML file that describes an engine and its trims, into the parts that the calculation
// packages compute with. Every message about the file, its units and the compressor map beside it comes from here.
//
// The file format is declared once, as a tree of fields (see field). A trim is the file with the trim's own section laid
// over it, or over the trim that it builds on; each is built and checked as a whole when the spec is read.
package spec

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"syscall"

	"bellmouth/internal/compressor"
)

// A Spec is what one file describes: an engine in one or more trims.
type Spec struct {
	Name  string // of the engine; the file's name where the spec has none
	About string
	Path  string // of the file, as given

	// Remarks say which settings do not reach a trim.
	Remarks []string

	trims  []Trim
	venues []string          // in the file's order
	at     map[string][]Trim // the trims at each of them
}

// BaseTrim is the name of the one trim of a spec that declares none.
const BaseTrim = "base"

// maxTrims is the number of trims a spec may have; each is built when the spec is read.
const maxTrims = 64

// Trims returns the names of the trims in the file's order.
func (s *Spec) Trims() []string {
	names := make([]string, len(s.trims))
	for i := range s.trims {
		names[i] = s.trims[i].Name
	}
	return names
}

// Venues returns the names of the venues in the file's order, nil when it has none by name.
func (s *Spec) Venues() []string { return slices.Clone(s.venues) }

// Trim returns the trim of that name, in the air that the spec has for it. An unknown name is an *Error that lists the names.
func (s *Spec) Trim(name string) (Trim, error) { return s.TrimAt(name, "") }

// TrimAt returns the trim of that name at one of the spec's venues, which then is its own even where the trim says another; without a venue it is
// that of Trim. An unknown name is an *Error that lists the names.
func (s *Spec) TrimAt(name, venue string) (Trim, error) {
	trims := s.trims
	if venue != "" {
		if trims = s.at[venue]; trims == nil {
			return Trim{}, whole(s.Path, 0, 0, "%s", noSuch("venue", venue, s.venues))
		}
	}
	for i := range trims {
		if trims[i].Name == name {
			return trims[i], nil
		}
	}
	return Trim{}, whole(s.Path, 0, 0, "%s", noSuch("trim", name, s.Trims()))
}

// noSuch says that there is no trim or venue of a name.
func noSuch(what, name string, names []string) string {
	if len(names) == 0 {
		return fmt.Sprintf("has no %s %s; the spec declares none", what, shown(name))
	}
	message := fmt.Sprintf("has no %s %s; it has %s", what, shown(name), strings.Join(names, ", "))
	if near := nearest(clip(name), names); near != "" && len(names) > 1 {
		message += "; " + near + "?"
	}
	return message
}

// Load reads the spec in a file, settings laid over it, and the files that it names, such as a compressor map. What is wrong with either is an *Error.
func Load(path string, settings ...Setting) (*Spec, error) {
	data, err := readFile(path, false)
	if err != nil {
		return nil, whole(path, 0, 0, "%s", err)
	}
	return Read(path, data, openRegular, settings...)
}

// StandardInput is the name of a spec that comes from there.
const StandardInput = "standard input"

// LoadFrom is Load from a stream. The files that the spec names are looked for in the working directory.
func LoadFrom(r io.Reader, settings ...Setting) (*Spec, error) {
	data, err := ReadAll(r)
	if err != nil {
		return nil, err
	}
	return Read(StandardInput, data, openRegular, settings...)
}

// ReadAll returns what standard input has, for LoadFrom more than once; of what is too large for a spec as much as shows that.
func ReadAll(r io.Reader) ([]byte, error) {
	data, err := io.ReadAll(io.LimitReader(r, maxFile+1))
	if err != nil {
		return nil, whole(StandardInput, 0, 0, "%s", reason(err))
	}
	return data, nil
}

func openRegular(path string) ([]byte, error) { return readFile(path, true) }

// readFile returns a file's content, or why it has none that can be used. A file that is too large is not read.
func readFile(path string, regular bool) ([]byte, error) {
	info, err := os.Stat(path)
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return nil, errors.New("does not exist")
	case err != nil:
		return nil, reason(err)
	case info.IsDir():
		return nil, errors.New("is a directory; want a file")
	case regular && !info.Mode().IsRegular():
		return nil, errors.New("is not a regular file")
	case info.Mode()&(fs.ModeDevice|fs.ModeSocket|fs.ModeIrregular) != 0:
		return nil, errors.New("is a device, which may never answer; want a file")
	case info.Size() > maxFile:
		return nil, fmt.Errorf("is %.1f MiB large; want at most 1 MiB", float64(info.Size())/(1<<20))
	}
	mode, pipe := os.O_RDONLY, info.Mode()&fs.ModeNamedPipe != 0
	if pipe {
		mode |= syscall.O_NONBLOCK // or opening a pipe that nothing writes to would wait without an end
	}
	f, err := os.OpenFile(path, mode, 0)
	if err != nil {
		return nil, reason(err)
	}
	defer f.Close()
	data, err := io.ReadAll(io.LimitReader(f, maxFile+1))
	switch {
	case err != nil:
		return nil, reason(err)
	case pipe && len(data) == 0:
		return nil, errors.New("is a pipe that nothing writes to; want a file")
	}
	return data, nil
}

// reason takes the operation and path off an error of package os; the message has the path already.
func reason(err error) error {
	var p *fs.PathError
	if errors.As(err, &p) {
		return fmt.Errorf("cannot be read: %w", p.Err)
	}
	return fmt.Errorf("cannot be read: %w", err)
}

// Read reads a spec from its text. name is its path, used in messages and to find the files that it names, which open
// returns the content of. Settings are laid over it.
func Read(name string, data []byte, open func(path string) ([]byte, error), settings ...Setting) (*Spec, error) {
	ps := newProblems(name)
	root, err := parse(name, data, ps)
	if err != nil {
		return nil, err
	}
	if root, err = laidOver(root, settings, ps); err != nil {
		return nil, err
	}
	s := &Spec{Path: name, at: map[string][]Trim{}}
	trims := declaredTrims(root, ps)
	sites := declaredVenues(root, ps)
	s.Remarks = hidden(settings, trims)
	base := without(root, "trims", "venues")
	files := &fileStore{folder: filepath.Dir(name), open: open, maps: map[string]stored[*mapFile]{}, courses: map[string]stored[*courseFile]{},
		built: map[mapKey]builtMap{}}

	// Each part of the file by itself first, so that whatever it says is looked at, even what every trim replaces.
	head := &draft{}
	newDecoder(ps, reading{}, true).section(head.schema(), base, "")
	s.Name, s.About = head.name, head.about
	for _, t := range trims {
		newDecoder(ps, reading{}, true).section((&draft{}).trimFields(), t.value, "")
	}
	for _, p := range sites {
		p.read(ps)
	}
	all := trims
	if len(trims) == 0 {
		all = []*declared{{name: BaseTrim}}
	}
	all = slices.DeleteFunc(all, func(t *declared) bool { return t.astray })
	build := func(t *declared, at *site) Trim {
		r := reading{trim: t.name}
		if at != nil {
			r.venue = at.name
		}
		d, dec := &draft{}, newDecoder(ps, r, false)
		d.venueRead = func() { d.settleVenue(dec) }
		fields := d.parts()
		n := t.over(fields, base)
		if at != nil {
			n = n.with("venue", at.value)
		}
		dec.section(fields, n, "")
		d.assemble(dec, files)
		d.Trim.Name, d.VenueName, d.file, d.written = t.name, r.venue, name, n
		return d.Trim
	}
	for _, t := range all {
		s.trims = append(s.trims, build(t, nil))
	}
	for _, p := range sites {
		s.venues = append(s.venues, p.name)
		for _, t := range all {
			if len(ps.kept) > maxListed { // more is not listed, and a hostile file is not read a thousand times over
				break
			}
			s.at[p.name] = append(s.at[p.name], build(t, p))
		}
	}
	if err := ps.err(s.Trims(), s.venues); err != nil {
		return nil, err
	}
	if s.Name == "" {
		s.Name = strings.TrimSuffix(filepath.Base(name), filepath.Ext(name))
	}
	return s, nil
}

// A fileStore reads each file that a spec names once, however many trims use it.
type fileStore struct {
	folder  string
	open    func(path string) ([]byte, error)
	maps    map[string]stored[*mapFile]
	courses map[string]stored[*courseFile]
	built   map[mapKey]builtMap
}

type stored[T any] struct {
	file T
	err  error
}

type mapKey struct {
	name string
	ref  compressor.Reference
}

type builtMap struct {
	m   *compressor.Map
	err error
}

func (s *fileStore) path(name string) string {
	if filepath.IsAbs(name) {
		return name
	}
	return filepath.Join(s.folder, name)
}

// load returns the content of a file, which is kept among those. An *Error tells what is wrong in it; another error why there is no content.
func load[T any](s *fileStore, among map[string]stored[T], name string, parse func(path string, data []byte) (T, error)) (T, error) {
	if r, ok := among[name]; ok {
		return r.file, r.err
	}
	var r stored[T]
	path := s.path(name)
	data, err := s.open(path)
	if err != nil {
		r.err = fmt.Errorf("%s %w", printable(path), err)
	} else {
		r.file, r.err = parse(path, data)
	}
	among[name] = r
	return r.file, r.err
}

// build makes a map ready for use with its reference state.
func (s *fileStore) build(name string, file *mapFile, temperature, pressure float64) (*compressor.Map, error) {
	key := mapKey{name, compressor.Reference{Temperature: temperature, Pressure: pressure}}
	if b, ok := s.built[key]; ok {
		return b.m, b.err
	}
	var b builtMap
	b.m, b.err = file.build(s.path(name), key.ref)
	s.built[key] = b
	return b.m, b.err
}

// failFile reports what is wrong with a file that the value at a path names.
func (d *decoder) failFile(path string, at *node, err error) {
	var problem *Error
	if !errors.As(err, &problem) {
		d.fail(path, at, "is %s; %s", shown(at.text), err)
		return
	}
	for _, p := range problem.Problems {
		d.failAt(path, p)
	}
}

func trimBOM(data []byte) []byte { return bytes.TrimPrefix(data, []byte("\ufeff")) }

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

	trims []Trim
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

// Trim returns the trim of that name. An unknown name is an *Error that lists the names.
func (s *Spec) Trim(name string) (Trim, error) {
	for i := range s.trims {
		if s.trims[i].Name == name {
			return s.trims[i], nil
		}
	}
	return Trim{}, whole(s.Path, 0, 0, "%s", noTrim(name, s.Trims()))
}

// noTrim says that there is no trim of a name.
func noTrim(name string, names []string) string {
	if len(names) == 0 {
		return fmt.Sprintf("has no trim %s; the spec declares none", shown(name))
	}
	message := fmt.Sprintf("has no trim %s; it has %s", shown(name), strings.Join(names, ", "))
	if near := nearest(clip(name), names); near != "" && len(names) > 1 {
		message += "; " + near + "?"
	}
	return message
}

// Load reads the spec in a file, settings laid over it, and the compressor map that it names. What is wrong with either is an *Error.
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
	data, err := io.ReadAll(io.LimitReader(r, maxFile+1))
	if err != nil {
		return nil, whole(StandardInput, 0, 0, "%s", reason(err))
	}
	return Read(StandardInput, data, openRegular, settings...)
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
	s := &Spec{Path: name}
	trims := declaredTrims(root, ps)
	s.Remarks = hidden(settings, trims)
	base := without(root, "trims")
	maps := &mapStore{folder: filepath.Dir(name), open: open, files: map[string]mapResult{}, built: map[mapKey]builtMap{}}

	// Each part of the file by itself first, so that whatever it says is looked at, even what every trim replaces.
	head := &draft{}
	newDecoder(ps, "", true).section(head.schema(), base, "")
	s.Name, s.About = head.name, head.about
	for _, t := range trims {
		newDecoder(ps, "", true).section((&draft{}).trimFields(), t.value, "")
	}
	all := trims
	if len(trims) == 0 {
		all = []*declared{{name: BaseTrim}}
	}
	var names []string
	for _, t := range all {
		if t.astray {
			continue
		}
		names = append(names, t.name)
		d, dec := &draft{}, newDecoder(ps, t.name, false)
		d.venueRead = func() { d.settleVenue(dec) }
		fields := d.parts()
		dec.section(fields, t.over(fields, base), "")
		d.assemble(dec, maps)
		d.Trim.Name, d.file = t.name, name
		s.trims = append(s.trims, d.Trim)
	}
	if err := ps.err(names); err != nil {
		return nil, err
	}
	if s.Name == "" {
		s.Name = strings.TrimSuffix(filepath.Base(name), filepath.Ext(name))
	}
	return s, nil
}

// mapStore reads each compressor map once, however many trims use it.
type mapStore struct {
	folder string
	open   func(path string) ([]byte, error)
	files  map[string]mapResult
	built  map[mapKey]builtMap
}

type mapResult struct {
	file *mapFile
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

func (s *mapStore) path(name string) string {
	if filepath.IsAbs(name) {
		return name
	}
	return filepath.Join(s.folder, name)
}

// load returns the content of a map file. An *Error tells what is wrong in it; another error why there is no content.
func (s *mapStore) load(name string) (*mapFile, error) {
	if r, ok := s.files[name]; ok {
		return r.file, r.err
	}
	var r mapResult
	path := s.path(name)
	data, err := s.open(path)
	if err != nil {
		r.err = fmt.Errorf("%s %w", printable(path), err)
	} else {
		r.file, r.err = parseMap(path, data)
	}
	s.files[name] = r
	return r.file, r.err
}

// build makes a map ready for use with its reference state.
func (s *mapStore) build(name string, file *mapFile, temperature, pressure float64) (*compressor.Map, error) {
	key := mapKey{name, compressor.Reference{Temperature: temperature, Pressure: pressure}}
	if b, ok := s.built[key]; ok {
		return b.m, b.err
	}
	var b builtMap
	b.m, b.err = file.build(s.path(name), key.ref)
	s.built[key] = b
	return b.m, b.err
}

func trimBOM(data []byte) []byte { return bytes.TrimPrefix(data, []byte("\ufeff")) }

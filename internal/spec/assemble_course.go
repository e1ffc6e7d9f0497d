package spec

import (
	"path/filepath"
	"slices"
	"strings"

	"bellmouth/internal/course"
	"bellmouth/internal/gearing"
)

// assembleCourse reads the course's file and puts it on the trim's surfaces.
func (d *draft) assembleCourse(dec *decoder, files *fileStore) {
	const path = "course.file"
	at := dec.given[path]
	if at == nil || dec.bad[path] {
		return
	}
	file, err := load(files, files.courses, d.course.file, parseCourse)
	if err != nil {
		dec.failFile(path, at, err)
		return
	}
	c := Course{Name: d.course.name, File: d.course.file, Flying: d.course.start == startFlying, Stations: slices.Clone(file.stations), digest: file.digest}
	if c.Name == "" {
		c.Name = strings.TrimSuffix(filepath.Base(c.File), filepath.Ext(c.File))
	}
	var own gearing.Road
	if d.Trim.Car != nil {
		own = d.Trim.Car.Road()
	}
	good := true
	var told []string
	for i := range c.Stations {
		road, on := own, file.surfaces[i]
		if on.name != "" {
			s, ok := d.Trim.Surfaces.Named(on.name)
			if !ok && !slices.Contains(told, on.name) && !dec.bad["surfaces"] {
				told = append(told, on.name)
				dec.failAt(path, Problem{File: files.path(d.course.file), Line: on.line, Column: on.column, Message: "surface is " + d.noSurface(on.name)})
			}
			good = good && ok
			road.Grip, road.Rolling = s.Grip, s.Rolling
		}
		road.Grade = c.Stations[i].Grade
		c.Stations[i].Road = road
	}
	if !good || d.Trim.Car == nil || dec.bad["course"] {
		return
	}
	if dec.check("course", func() error { return course.Check(c.Stations) }) {
		d.Trim.Course = &c
	}
}

// noSurface says that no surface of the trim has a name.
func (d *draft) noSurface(name string) string {
	names := d.Trim.Surfaces.Names()
	if len(names) == 0 {
		return shown(name) + ", and the spec has no section surfaces"
	}
	message := shown(name) + ", which surfaces.grip does not name; it has " + strings.Join(names, ", ")
	if near := nearest(clip(name), names); near != "" && len(names) > 1 {
		message += "; " + near + "?"
	}
	return message
}

package spec

import (
	"crypto/sha256"

	"bellmouth/internal/course"
)

// A Course is what the car is timed over.
type Course struct {
	Name     string
	File     string // as the spec names it
	Flying   bool   // a lap that begins at the speed with which it ends, rather than a standing start
	Stations []course.Station

	digest [sha256.Size]byte // of the file
}

// Files returns the files that the trim's spec names, as it does.
func (t *Trim) Files() []string {
	var files []string
	if t.Compressor != nil {
		files = append(files, t.Compressor.MapFile)
	}
	if t.Course != nil {
		files = append(files, t.Course.File)
	}
	return files
}

package spec

// A courseDraft is the course as the file says it.
type courseDraft struct{ name, file, start string }

// How a course begins.
const (
	startStanding = "standing"
	startFlying   = "flying"
)

func (d *draft) courseFields() []field {
	c := &d.course
	return []field{
		{key: "name", doc: "what the reports call it; default: the file's name", into: &c.name, example: "hill"},
		{key: "file",
			doc:  "a CSV file with a row for each place where the road changes: distance, radius or allowed speed, grade, surface, bank; its path is relative to this file",
			into: &c.file, required: true, example: "course.csv"},
		{key: "start", doc: "from rest, or of a lap that begins at the speed with which it ends", into: &c.start, choices: []string{startStanding, startFlying},
			fallback: startStanding, reason: "a hill is started from rest", example: startStanding},
	}
}

package cli

import (
	"fmt"
	"slices"

	"bellmouth/internal/formula"
	"bellmouth/internal/spec"
	"bellmouth/internal/table"
	"bellmouth/internal/units"
)

// venues returns the venues to compute at: those asked for by name, or the one without a name.
func (o *options) venues(s *spec.Spec) ([]string, error) {
	switch {
	case o.venue == "":
		return []string{""}, nil
	case o.venue == spec.AllVenues && len(s.Venues()) > 0:
		return s.Venues(), nil
	}
	names, err := listed("--venue", "venue", o.venue)
	if err == nil && len(names) > 1 && slices.Contains(names, spec.AllVenues) {
		err = fmt.Errorf("--venue %q names others beside %s", o.venue, spec.AllVenues)
	}
	return names, err
}

// byVenue returns the trims by venue; load gives those of a venue in a row.
func byVenue(trims []*spec.Trim) [][]*spec.Trim {
	var groups [][]*spec.Trim
	for i, t := range trims {
		if i == 0 || t.VenueName != trims[i-1].VenueName {
			groups = append(groups, nil)
		}
		last := &groups[len(groups)-1]
		*last = append(*last, t)
	}
	return groups
}

// stamp gives tables the venue that they are computed at, if it was asked for by name.
func stamp(tables []table.Table, venue string) {
	for i := range tables {
		tables[i].Venue = venue
	}
}

// called names a trim in a sentence, with the venue where it was asked for by name.
func called(t *spec.Trim) string {
	if t.VenueName == "" {
		return "trim " + t.Name
	}
	return "trim " + t.Name + ", venue " + t.VenueName
}

// atVenue names the venue, if it was asked for by name, in an error that names the trim.
func atVenue(t *spec.Trim, err error) error {
	if err == nil || t.VenueName == "" {
		return err
	}
	return fmt.Errorf("venue %q, %w", t.VenueName, err)
}

// allAtVenue is atVenue for the errors of several points.
func allAtVenue(t *spec.Trim, errs []error) []error {
	for i := range errs {
		errs[i] = atVenue(t, errs[i])
	}
	return errs
}

// once adds a line unless it is there: what a trim lacks it lacks at every venue.
func once(lines []string, line string) []string {
	if slices.Contains(lines, line) {
		return lines
	}
	return append(lines, line)
}

// venueTable returns the air of a spec's venues.
func venueTable(s *spec.Spec, names []string) (table.Table, error) {
	trims := make([]spec.Trim, len(names))
	for i, name := range names {
		var err error
		if trims[i], err = s.TrimAt(s.Trims()[0], name); err != nil { // a venue by name is that of every trim
			return table.Table{}, err
		}
	}
	return table.Of("venues", trims,
		table.Words("venue_name", "venue", func(t spec.Trim) string { return t.VenueName }),
		table.Number("pressure_pa", "pressure", units.Pressure, func(t spec.Trim) float64 { return t.Venue.Pressure }).WithDigits(3),
		table.Number("temperature_k", "temperature", units.Temperature, func(t spec.Trim) float64 { return t.Venue.Temperature }),
		table.Number("relative_humidity", "humidity", units.Fraction, func(t spec.Trim) float64 { return t.Venue.RelativeHumidity }).WithDigits(0),
	), nil
}

// venueEntries explain the columns above.
func venueEntries() []formula.Entry {
	return []formula.Entry{{Key: "venue_name", Title: "venue", Meaning: "Name of the venue, for --venue.", Formula: "given in the spec",
		Source: "given in the spec", Range: "everywhere"}}
}

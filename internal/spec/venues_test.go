package spec

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// A venue by name is the section venue written so, for every trim, whatever spec and trim have.
func TestVenues(t *testing.T) {
	const rest = "cooler: {effectiveness: 0.7}\nboost: {target: 2 bar abs}\nintake: {filter_loss: {flow: 0.3 kg/s, loss: 1 kPa}}\n" +
		"trims:\n  open: {venue: {altitude: 900 m}}\n  capped: {intake: {restrictor: {bore: 34 mm}}}\n"
	const venues = "venues:\n  hill: {altitude: 1500 m, humidity: 80 %}\n  quay: {pressure: 1020 hPa, temperature: 25 degC}\n"
	s, err := read(engine + "venue: {altitude: 420 m, temperature: 18 degC, humidity: 55 %}\n" + rest + venues)
	require.NoError(t, err)
	assert.Equal(t, []string{"hill", "quay"}, s.Venues())
	for venue, section := range map[string]string{"hill": "{altitude: 1500 m, humidity: 80 %}", "quay": "{pressure: 1020 hPa, temperature: 25 degC}"} {
		there, err := read(engine + "venue: " + section + "\n" + "cooler: {effectiveness: 0.7}\nboost: {target: 2 bar abs}\nintake: {filter_loss: {flow: 0.3 kg/s, loss: 1 kPa}}\n" +
			"trims:\n  open: {}\n  capped: {intake: {restrictor: {bore: 34 mm}}}\n")
		require.NoError(t, err)
		for _, name := range s.Trims() {
			want, err := there.Trim(name)
			require.NoError(t, err)
			got, err := s.TrimAt(name, venue)
			require.NoError(t, err)
			assert.Equal(t, venue, got.VenueName)
			got.VenueName, got.written, want.written = "", nil, nil // the section stands in another place
			assert.Equal(t, want, got)
		}
	}
	own, err := s.Trim("open")
	require.NoError(t, err)
	assert.Empty(t, own.VenueName)
	assert.InDelta(t, 90971, own.Venue.Pressure, 2, "the trim's own, 900 m")
	_, err = s.TrimAt("open", "hil")
	assert.EqualError(t, err, "hillclimb.yaml: has no venue hil; it has hill, quay; hill?")
	_, err = s.TrimAt("opn", "hill")
	assert.EqualError(t, err, "hillclimb.yaml: has no trim opn; it has open, capped; open?")
	none, err := read(engine)
	require.NoError(t, err)
	assert.Nil(t, none.Venues())
	_, err = none.TrimAt(BaseTrim, "hill")
	assert.EqualError(t, err, "hillclimb.yaml: has no venue hill; the spec declares none")
}

func TestVenueMessages(t *testing.T) {
	for _, p := range []struct {
		name, text string
		want       []string
	}{
		{"unknown key", "venues:\n  hill: {altitud: 3 m}\n", []string{"hillclimb.yaml:9:10: venues.hill.altitud is not a key of venue; altitude?"}},
		{"out of range, once for all trims", "venues:\n  hill: {altitude: 9 km}\ntrims: {a: {}, b: {}}\n", []string{
			"hillclimb.yaml:9:20: venues.hill.altitude is 9 km; want -0.45 km to 5.5 km (0.9 km?)"}},
		{"a value", "venues: 3\n", []string{"hillclimb.yaml:8:9: venues is 3; want a section with one venue or more, each with the keys of venue"}},
		{"none", "venues: none\n", []string{"hillclimb.yaml:8:9: venues is none; want a section with one venue or more, each with the keys of venue"}},
		{"empty", "venues: {}\n", []string{"hillclimb.yaml:8:9: venues is a section; want a section with one venue or more, each with the keys of venue"}},
		{"a venue that is a value", "venues: {hill: 420 m, top: none}\n", []string{
			"hillclimb.yaml:8:16: venues.hill is 420 m; want a section with altitude, pressure, temperature, humidity",
			"hillclimb.yaml:8:28: venues.top is none; want a section with altitude, pressure, temperature, humidity"}},
		{"a venue without value", "venues:\n  hill:\n", []string{"hillclimb.yaml:9:8: venues.hill has no value; want a section with altitude, pressure, temperature, humidity"}},
		{"names", "venues: {all: {}, \"a,b\": {}}\n", []string{
			"hillclimb.yaml:8:10: venues has the name all, which stands for all of them; want another",
			"hillclimb.yaml:8:19: venues has the name a,b; want letters, digits and - _ + . with single spaces"}},
		{"not for a trim", "trims: {a: {venues: {}}}\n", []string{"hillclimb.yaml:8:13: trims.a.venues is not a key of a trim; venue?"}},
		{"what does not do at a venue", "boost: {target: 7 bar abs}\nvenue: {pressure: 1010 hPa}\nvenues: {hill: {pressure: 700 hPa}, quay: {pressure: 1020 hPa}}\n", []string{
			"hillclimb.yaml:8:17: boost.target is 7 bar abs; want 0.7 bar abs to 6.7 bar abs (0.7 bar abs?) (at venue hill)"}},
		{"what does not do there in one trim", "boost: {target: 7 bar abs}\nvenue: {pressure: 1010 hPa}\nvenues: {hill: {pressure: 700 hPa}, quay: {pressure: 1020 hPa}}\n" +
			"trims: {a: {boost: {target: 1 bar}}, b: {}}\n", []string{
			"hillclimb.yaml:8:17: boost.target is 7 bar abs; want 0.7 bar abs to 6.7 bar abs (0.7 bar abs?) (in trim b; at venue hill)"}},
		{"what does not do there or without, once", "boost: {target: 8 bar abs}\nvenue: {pressure: 1010 hPa}\nvenues: {hill: {pressure: 700 hPa}}\n", []string{
			"hillclimb.yaml:8:17: boost.target is 8 bar abs; want 1.01 bar abs to 7.01 bar abs"}},
		{"a trim's own venue does not hide it", "boost: {target: 7 bar abs}\nvenue: {pressure: 1010 hPa}\nvenues: {hill: {pressure: 700 hPa}}\n" +
			"trims: {a: {venue: {pressure: 1010 hPa}}}\n", []string{
			"hillclimb.yaml:8:17: boost.target is 7 bar abs; want 0.7 bar abs to 6.7 bar abs (0.7 bar abs?) (at venue hill)"}},
		{"many", "venues:\n" + numbered("  v%d: {}\n", 17), []string{"hillclimb.yaml:9:3: venues has 17 venues; want at most 16"}},
	} {
		t.Run(p.name, func(t *testing.T) { assert.Equal(t, p.want, messages(t, engine+p.text)) })
	}
}

func TestSettingOfAVenue(t *testing.T) {
	const text = engine + "venues:\n  hill: {altitude: 1500 m, humidity: 80 %}\ntrims: {a: {}, b: {from: a}}\n"
	s, err := readWith(t, text, "venues.hill.temperature=10 degC", "venues.hill.altitude=1 km")
	require.NoError(t, err)
	assert.Empty(t, s.Remarks)
	trim, err := s.TrimAt("b", "hill")
	require.NoError(t, err)
	assert.InDelta(t, 283.15, trim.Venue.Temperature, 1e-9)
	assert.InDelta(t, 0.8, trim.Venue.RelativeHumidity, 1e-12)
	assert.InDelta(t, 89875, trim.Venue.Pressure, 2, "1000 m in the standard atmosphere")
	for set, want := range map[string]string{
		"venues.hil.altitude=1 km":    "--set venues.hil.altitude=1 km: venues has no venue hil; it has hill",
		"venues.hill.altitude=9 km":   "--set venues.hill.altitude=9 km: venues.hill.altitude is 9 km; want -0.45 km to 5.5 km (0.9 km?)",
		"venues.hill.altitude.x=1 km": "--set venues.hill.altitude.x=1 km: venues.hill.altitude is set whole, without x; want -450 m to 5500 m, such as 420 m",
		"venues.hill.bore=1 km":       "--set venues.hill.bore=1 km: venues.hill.bore is not a key of venue; its keys are altitude, pressure, temperature, humidity",
		"venues=none":                 "--set venues=none: venues is none; want a section with one venue or more, each with the keys of venue",
		"venues.hill=none":            "--set venues.hill=none: venues.hill is none; want a section with altitude, pressure, temperature, humidity",
	} {
		_, err := readWith(t, text, set)
		assert.EqualError(t, err, want)
	}
}

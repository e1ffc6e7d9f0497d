package cli

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// TestParseVary holds what --vary takes: alternatives, values that go together, quotes and brackets.
func TestParseVary(t *testing.T) {
	for text, want := range map[string]string{
		"intake.restrictor.bore=36 mm|38 mm":                                      "intake.restrictor.bore=36 mm / intake.restrictor.bore=38 mm",
		" a.b = 1 | a.b = 2 ":                                                     "a.b=1 / a.b=2",
		"a.b=1, a.c=2|3, 4":                                                       "a.b=1 & a.c=2 / a.b=3 & a.c=4",
		"a.b=1, a.c=2|a.c=3, a.b=4":                                               "a.b=1 & a.c=2 / a.c=3 & a.b=4",
		"cooler=given|none":                                                       " / cooler=none",
		"given|a.b=1, a.c=2|2, 3":                                                 " / a.b=1 & a.c=2 / a.b=2 & a.c=3",
		"a.b=given, a.c=2|1, 3":                                                   "a.c=2 / a.b=1 & a.c=3",
		"boost.target={1500 rpm: 0.6 bar, 3000 rpm: 1 bar}|1.2 bar":               "boost.target={1500 rpm: 0.6 bar, 3000 rpm: 1 bar} / boost.target=1.2 bar",
		"waivers=[{check: a, reason: b}]|[{check: a, reason: 'c, d | e'}]":        "waivers=[{check: a, reason: b}] / waivers=[{check: a, reason: 'c, d | e'}]",
		`compressor.map="a,b|c.csv", compressor.wheel=6 mm|it's.csv, 5 mm`:        `compressor.map="a,b|c.csv" & compressor.wheel=6 mm / compressor.map=it's.csv & compressor.wheel=5 mm`,
		"intake.restrictor={bore: 36 mm, recovery: 0.8}|{bore: 38 mm}|none|given": "intake.restrictor={bore: 36 mm, recovery: 0.8} / intake.restrictor={bore: 38 mm} / intake.restrictor=none / ",
	} {
		v, err := parseVary(text)
		require.NoError(t, err, text)
		var got []string
		for _, c := range v.choices {
			var parts []string
			for _, s := range c {
				parts = append(parts, s.Path+"="+s.Value)
			}
			got = append(got, strings.Join(parts, " & "))
		}
		assert.Equal(t, want, strings.Join(got, " / "), text)
	}
	for text, want := range map[string]string{
		"":                         "has one alternative; want two or more",
		"a.b=1":                    "--set sets a value for all variants",
		"a.b=1|":                   "has nothing as its alternative 2; want a value, or given",
		"|a.b=1":                   "has nothing as its alternative 1",
		"1|2":                      `has "1" in its alternative 1, which is not PATH=VALUE`,
		"a.b=1|2, 3":               `has "2" in its alternative 2, which is not PATH=VALUE`,
		"a.b=1, a.c=2|3":           `has "3" in its alternative 2, which is not PATH=VALUE`,
		"a.b=|2":                   "in its alternative 1: ",
		"a.b=1|1":                  "has alternative 1 once more as alternative 2",
		"a.b={c: 1|2":              "has a quote or bracket that nothing closes",
		"a.b='1|2":                 "has a quote or bracket that nothing closes",
		"a.b=1, a.b=2|3, 4":        "in its alternative 1 sets a.b twice",
		"a.b.c=1, a.b={d: 2}|none": "in its alternative 1 sets a.b twice",
		"trims.capped.a=1|2":       "trims.capped.a is no value of a trim",
		"venues.hill.a=1|2":        "venues.hill.a is no value of a trim",
		"name=a|b":                 "name is no value of a trim",
	} {
		_, err := parseVary(text)
		assert.ErrorContains(t, err, want, text)
		assert.ErrorContains(t, err, "--vary ", text)
	}
	_, err := parseVaries([]string{"a.b=1|2", "a.b.c=1|2"})
	assert.ErrorContains(t, err, `--vary "a.b=1|2" sets a.b, and --vary "a.b.c=1|2" sets a.b.c; want values that go together in one --vary`)
}

func TestLetters(t *testing.T) {
	for i, want := range map[int]string{0: "A", 25: "Z", 26: "AA", 51: "AZ", 52: "BA", 701: "ZZ", 702: "AAA"} {
		assert.Equal(t, want, letter(i))
	}
	for text, want := range map[string]int{"": 0, "1": 0, "c": 2, "AB": 27, "28": 27} {
		got, err := reference(text, 28)
		require.NoError(t, err, text)
		assert.Equal(t, want, got, text)
	}
	_, err := reference("0", 28)
	assert.ErrorContains(t, err, "want A to AB, or 1 to 28")
}

// TestShortPaths: the ends of the paths, as short as they stay apart.
func TestShortPaths(t *testing.T) {
	assert.Equal(t, map[string]string{"intake.restrictor.bore": "restrictor.bore", "wastegate.bore": "wastegate.bore", "turbine.wheel": "wheel",
		"cooler": "cooler"},
		shortPaths([]string{"intake.restrictor.bore", "wastegate.bore", "turbine.wheel", "cooler"}))
}

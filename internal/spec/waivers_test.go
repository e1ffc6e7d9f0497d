package spec

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// A trim's waivers add to those of what it builds on; none takes those away.
func TestWaivers(t *testing.T) {
	const text = engine + `waivers:
  - {check: mean-piston-speed, reason: rods are new every season}
trims:
  open: {}
  capped:
    waivers:
      - check: gearbox-torque
        reason: >
          the box is
          a spare
  wet:
    from: capped
    waivers: [{check: surge-margin-2, reason: "5: heard none"}]
  strict: {from: wet, waivers: none}
  again: {from: strict, waivers: [{check: gearbox-torque, reason: spare}]}
`
	base := Waiver{"mean-piston-speed", "rods are new every season", 9}
	capped, wet := Waiver{"gearbox-torque", "the box is a spare", 14}, Waiver{"surge-margin-2", "5: heard none", 20}
	for name, want := range map[string][]Waiver{
		"open": {base}, "capped": {base, capped}, "wet": {base, capped, wet}, "strict": nil, "again": {{"gearbox-torque", "spare", 22}},
	} {
		assert.Equal(t, want, trimOf(t, text, name).Waivers, name)
	}
	assert.Nil(t, trimOf(t, engine, BaseTrim).Waivers)

	// A setting takes the place of the list that it names.
	s, err := readWith(t, text, "waivers=[{check: light-load-pulse, reason: gone}]", "trims.wet.waivers=none")
	require.NoError(t, err)
	assert.Equal(t, []string{ // a trim that adds hides nothing, one that takes away does
		"--set waivers does not reach the trim wet, which says waivers itself; set trims.wet.waivers",
		"--set waivers does not reach the trim strict, which says waivers itself; set trims.strict.waivers",
		"--set waivers does not reach the trim again, which has waivers from the trim strict; set trims.strict.waivers",
	}, s.Remarks)
	trim, err := s.Trim("capped")
	require.NoError(t, err)
	assert.Equal(t, []Waiver{{"light-load-pulse", "gone", 0}, capped}, trim.Waivers)
	trim, err = s.Trim("wet")
	require.NoError(t, err)
	assert.Nil(t, trim.Waivers)
}

func TestWaiverMessages(t *testing.T) {
	for _, p := range []struct {
		text string
		want []string
	}{
		{"waivers: [{check: a-b}]\n", []string{"hillclimb.yaml:8:11: waivers.reason is missing; want text, such as pistons and rods are new every season"}},
		{"waivers: [{reason: a-b}]\n", []string{"hillclimb.yaml:8:11: waivers.check is missing; want text, such as mean-piston-speed"}},
		{"waivers: [{check: a-b, reason: \"\"}]\n", []string{"hillclimb.yaml:8:32: waivers.reason is 0 bytes of text; want 1 to 1000"}},
		{"waivers: [{check: a-b, reason: \" \"}]\n", []string{"hillclimb.yaml:8:32: waivers.reason is 0 bytes of text; want 1 to 1000"}},
		{"waivers: [{check: a-b, reason: }]\n", []string{"hillclimb.yaml:8:32: waivers.reason has no value; want text, such as pistons and rods are new every season"}},
		{"waivers: [{check: a-b, reason: none}]\n", []string{"hillclimb.yaml:8:32: waivers.reason is none; want the reason"}},
		{"waivers: [{check: Shaft speed, reason: x}]\n", []string{
			"hillclimb.yaml:8:19: waivers.check is Shaft speed; want the id of a check, words in lower case with - between, such as mean-piston-speed"}},
		{"waivers: [{check: a, reason: x, resaon: y}]\n", []string{"hillclimb.yaml:8:33: waivers.resaon is not a key of waivers; reason?"}},
		{"waivers: [a, {check: b, reason: x}, [c]]\n", []string{
			"hillclimb.yaml:8:11: waivers has the entry a; want check and reason", "hillclimb.yaml:8:37: waivers has the entry a list; want check and reason"}},
		{"waivers: {check: a, reason: x}\n", []string{"hillclimb.yaml:8:10: waivers is a section; want a list of entries with check and reason, " +
			"such as [{check: mean-piston-speed, reason: pistons and rods are new every season}]"}},
		{"waivers: a\n", []string{"hillclimb.yaml:8:10: waivers is a; want a list of entries with check and reason, " +
			"such as [{check: mean-piston-speed, reason: pistons and rods are new every season}]"}},
		{"waivers:\n  - {check: a, reason: x}\n  - {check: b, reason: x}\n  - {check: a, reason: y}\n", []string{
			"hillclimb.yaml:11:13: waivers.check waives a twice; the first is on line 9"}},
		{"waivers: [{check: a, reason: x}]\ntrims:\n  one: {waivers: [{check: a, reason: y}]}\n  two: {from: one}\n  three: {}\n", []string{
			"hillclimb.yaml:10:27: trims.one.waivers.check waives a twice; the first is on line 8"}},
		{"trims:\n  one: {waivers: [{check: a}]}\n  two: {}\n", []string{
			"hillclimb.yaml:9:19: trims.one.waivers.reason is missing; want text, such as pistons and rods are new every season"}},
		{"boost: [1 bar]\n", []string{"hillclimb.yaml:8:8: boost is a list; want a section with target"}},
	} {
		assert.Equal(t, p.want, messages(t, engine+p.text), p.text)
	}
	many := "waivers:\n" + numbered("  - {check: a%d, reason: x}\n", 101)
	assert.Equal(t, []string{"hillclimb.yaml:9:3: waivers has 101 entries; want at most 100"}, messages(t, engine+many))
	for set, want := range map[string]string{
		"waivers=[{check: a}]": "--set waivers=[{check: a}]: waivers.reason is missing; want text, such as pistons and rods are new every season",
		"waivers=[{check: a, reason: b}, {check: a, reason: b}]": "--set waivers=[{check: a, reason: b}, {check: a, reason: b}]: waivers.check waives a twice",
		"waivers.check=a": "--set waivers.check=a: waivers is set whole, without check; want a list of entries with check and reason",
	} {
		_, err := readWith(t, engine, set)
		assert.ErrorContains(t, err, want)
	}
}

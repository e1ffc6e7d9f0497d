package spec

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"bellmouth/internal/oil"
)

// sumpOf returns a spec with a sump: line 9 has its outline, line 10 its other parts, line 11 the pickup.
func sumpOf(outline, parts, pickup string) string {
	return engine + "sump:\n  outline: " + outline + "\n  " + parts + "\n  pickup: " + pickup + "\n"
}

func TestSump(t *testing.T) {
	const box, parts, pickup = "[[0 mm, 0 mm], [400 mm, 0 mm], [400 mm, 250 mm], [0 mm, 250 mm]]",
		"depth: 15 cm\n  oil: 6 L\n  in_engine: {1000 rpm: 0.5 L, 7000 rpm: 1.5 L}",
		"{forward: 100 mm, left: 50 mm, height: 12 mm}"
	s, err := read(sumpOf(box, parts, pickup) + "  gate: {outline: [[50 mm, 0 mm], [150 mm, 0 mm], [150 mm, 190 mm]], height: 60 mm, cover: covered}\n")
	require.NoError(t, err)
	trim, err := s.Trim(s.Trims()[0])
	require.NoError(t, err)
	shape := trim.Sump.Shape.Shape()
	assert.Equal(t, oil.Outline{{X: 0, Y: 0}, {X: 0.4, Y: 0}, {X: 0.4, Y: 0.25}, {X: 0, Y: 0.25}}, shape.Outline)
	assert.Equal(t, oil.Pickup{Place: oil.Point{X: 0.1, Y: 0.05}, Height: 0.012}, shape.Pickup)
	assert.Equal(t, 0.15, shape.Depth)
	assert.Nil(t, shape.Shelf)
	assert.Equal(t, oil.Gate{Outline: oil.Outline{{X: 0.05, Y: 0}, {X: 0.15, Y: 0}, {X: 0.15, Y: 0.19}}, Height: 0.06, Covered: true}, *shape.Gate)
	assert.InDelta(t, 0.015, trim.Sump.Shape.Capacity(), 1e-15)
	up, _ := trim.Sump.InEngine.At(9999)
	assert.InDelta(t, 0.0015, up, 1e-15)

	dry := trimOf(t, engine+"sump: {kind: dry, oil: 6 L, in_engine: 1 L, volume: 9 L, scavenge: {displacement: 40 cm3, ratio: 0.6, air_share: 45 %}}\n",
		"base")
	assert.Nil(t, dry.Sump.Shape)
	assert.InDelta(t, 0.009, dry.Sump.Capacity, 1e-15)
	// 100 turns a second: 40 cm³ × 0.6 × 75 %, of it 55 % oil.
	assert.InDelta(t, 100*40e-6*0.6*0.75*0.55, dry.Sump.Scavenge.Oil(6000*rpm), 1e-15)

	for _, p := range []struct{ name, text, want string }{
		{"crossing", sumpOf("[[0 mm, 0 mm], [400 mm, 250 mm], [400 mm, 0 mm], [0 mm, 250 mm]]", parts, pickup),
			"9:12: sump.outline cannot be: its edge from corner 1 to 2 meets that from 3 to 4; want edges that do not cross"},
		{"two corners", sumpOf("[[0 mm, 0 mm], [400 mm, 250 mm]]", parts, pickup), "9:12: sump.outline cannot be: it has 2 corners; want 3 to 100"},
		{"a bare number", sumpOf("[[0, 0 mm], [400 mm, 250 mm]]", parts, pickup), "9:14: sump.outline is 0, which has no unit; want a length in mm"},
		{"far away", sumpOf("[[0 mm, 0 mm], [4000 mm, 0 mm], [0 mm, 250 mm]]", parts, pickup),
			"9:28: sump.outline is 4000 mm; want -2000 mm to 2000 mm (400 mm?)"},
		{"three figures", sumpOf("[[0 mm, 0 mm, 1 mm], [400 mm, 250 mm]]", parts, pickup),
			"9:13: sump.outline has the corner 1 as [0 mm, 0 mm, 1 mm]; want [forward, left], such as [100 mm, -80 mm]"},
		{"a table", sumpOf("{0 mm: 0 mm}", parts, pickup),
			"9:12: sump.outline is a section; want a list of corners in their order, each [forward, left], -2 m to 2 m, such as [["},
		{"pickup outside", sumpOf(box, parts, "{forward: 100 mm, left: 350 mm, height: 12 mm}"),
			"13:11: sump.pickup cannot be: it stands outside the outline"},
		{"pickup too high", sumpOf(box, parts, "{forward: 100 mm, left: 50 mm, height: 150 mm}"),
			"13:11: sump.pickup cannot be: its height is 0.15 m; want 0 or more and less than the depth, 0.15 m"},
		{"fill above the lid", sumpOf(box, strings.Replace(parts, "6 L", "15.2 L", 1), pickup),
			"11:8: sump.oil is 15.2 L; want at most what the sump holds up to its depth, 15 L"},
		{"all of it up in the engine", sumpOf(box, strings.Replace(parts, "1.5 L", "6000 cm3", 1), pickup),
			"12:42: sump.in_engine.7000 rpm is 6000 cm3; want less than the oil filled, 6 L"},
		{"a gate elsewhere", sumpOf(box, parts, pickup) + "  gate: {outline: [[250 mm, 0 mm], [350 mm, 0 mm], [350 mm, 90 mm]], height: 60 mm}\n",
			"14:9: sump.gate cannot be: the pickup does not stand in it"},
		{"a shelf too large", sumpOf(box, parts, pickup) + "  shelf: {outline: [[250 mm, 0 mm], [450 mm, 0 mm], [350 mm, 90 mm]], height: 60 mm}\n",
			"14:10: sump.shelf cannot be: it reaches out of the outline of the whole"},
		{"no pickup", engine + "sump: {oil: 6 L, in_engine: 1 L, outline: " + box + ", depth: 150 mm}\n",
			"8:7: sump lacks pickup; a wet sump has all of outline, depth, pickup"},
		{"a tank of a wet sump", sumpOf(box, parts, pickup) + "  volume: 9 L\n", "14:11: sump.volume belongs to a dry sump; want kind: dry beside it"},
		{"a tank told twice", sumpOf(box, parts+"\n  kind: dry", pickup) + "  volume: 9 L\n",
			"15:11: sump.volume is given beside outline, depth, pickup, which tell it; want either"},
		{"no tank", engine + "sump: {kind: dry, oil: 6 L, in_engine: 1 L}\n", "8:7: sump lacks volume, that of the tank, or its outline, depth, pickup"},
		{"half a tank", engine + "sump: {kind: dry, oil: 6 L, in_engine: 1 L, depth: 40 cm}\n",
			"8:7: sump lacks outline, pickup; a plan has all of outline, depth, pickup"},
		{"a gate without a plan", engine + "sump: {kind: dry, oil: 6 L, in_engine: 1 L, volume: 9 L, gate: {outline: " + box + ", height: 50 mm}}\n",
			"8:64: sump.gate wants outline, depth, pickup beside it"},
		{"a tank too small", engine + "sump: {kind: dry, oil: 6 L, in_engine: 1 L, volume: 5 L}\n",
			"8:24: sump.oil is 6 L; want at most what the sump holds up to its depth, 5 L"},
	} {
		t.Run(p.name, func(t *testing.T) {
			got := messages(t, p.text)
			if assert.Len(t, got, 1) {
				assert.True(t, strings.HasPrefix(got[0], "hillclimb.yaml:"+p.want), "got:  %s\nwant: hillclimb.yaml:%s", got[0], p.want)
			}
		})
	}
}

// The fill that a message tells as the most is taken.
func TestMostOilIsTaken(t *testing.T) {
	for _, x := range []float64{0.0123456, 0.00999999, 0.015, 1} {
		got := floorTo(x, 4)
		assert.LessOrEqual(t, got, x)
		assert.InDelta(t, x, got, 1e-3*x)
	}
}

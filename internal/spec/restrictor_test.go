package spec

import (
	"testing"

	"github.com/stretchr/testify/assert"
)

func TestRestrictorCount(t *testing.T) {
	const compressor = "compressor: {map: compressor-map.csv, reference_temperature: 298.15 K, reference_pressure: 100 kPa, count: 2}\n"
	assert.Equal(t, 1, trimOf(t, engine+"intake: {restrictor: {bore: 38 mm}}\n", BaseTrim).Intake.Restrictor.Count)
	assert.Equal(t, 2, trimOf(t, engine+compressor+"intake: {restrictor: {bore: 28 mm, count: 2}}\n", BaseTrim).Intake.Restrictor.Count)
	assert.Equal(t, 1, trimOf(t, engine+compressor+"intake: {restrictor: {bore: 28 mm, count: 1}}\n", BaseTrim).Intake.Restrictor.Count)
	for _, p := range []struct{ text, want string }{
		{engine + "intake: {restrictor: {bore: 28 mm, count: 2}}\n", "hillclimb.yaml:8:43: intake.restrictor.count is 2; want 1 without a compressor"},
		{engine + compressor + "intake: {restrictor: {bore: 28 mm, count: 3}}\n",
			"hillclimb.yaml:9:43: intake.restrictor.count is 3; want 1, or 2 as compressor.count says"},
		{engine + compressor + "intake: {restrictor: {bore: 28 mm, count: 2}}\ntrims: {two: {}, one: {compressor: {count: 1}}}\n",
			"hillclimb.yaml:9:43: intake.restrictor.count is 2; want 1, as compressor.count is (in trim one)"},
		{engine + "intake: {restrictor: {bore: 28 mm, count: 0}}\n", "hillclimb.yaml:8:43: intake.restrictor.count is 0; want 1 to 8"},
	} {
		assert.Equal(t, []string{p.want}, messages(t, p.text))
	}
}

package spec

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"gopkg.in/yaml.v3"
)

// Every key of the file to start from is among the keys, with its meaning, what it takes and what stands where it is left out.
func TestKeys(t *testing.T) {
	byPath := map[string]Key{}
	for _, k := range Keys() {
		assert.NotContains(t, byPath, k.Path)
		assert.NotEmpty(t, k.Means, k.Path)
		assert.NotEmpty(t, k.Takes, k.Path)
		byPath[k.Path] = k
	}
	lift := byPath["engine.valves.inlet_lift"]
	require.NotEmpty(t, lift)
	assert.Contains(t, lift.Takes, "mm")
	assert.NotContains(t, lift.Takes, "such as")
	assert.NotEmpty(t, lift.Example)
	assert.Equal(t, "30 degC: common practice, no source", byPath["fuel.temperature"].Default)
	assert.Equal(t, "none: optional", byPath["compressor"].Default)
	assert.Empty(t, byPath["engine"].Default, "wanted")
	assert.Contains(t, byPath["venue.altitude"].Default, "0 m")

	// The file to start from, read by the library alone, has no key that is not among them.
	var file map[string]any
	require.NoError(t, yaml.Unmarshal(Template(), &file))
	var walk func(prefix string, section map[string]any) int
	walk = func(prefix string, section map[string]any) (n int) {
		for key, value := range section {
			k, ok := byPath[prefix+key]
			if !assert.True(t, ok, "%s%s", prefix, key) {
				continue
			}
			n++
			if inner, ok := value.(map[string]any); ok && k.Example == "" && key != "trims" && key != "venues" {
				n += walk(prefix+key+".", inner)
			}
		}
		return n
	}
	assert.Greater(t, walk("", file), 100)
}

package formula

import (
	"testing"

	"github.com/stretchr/testify/assert"
)

func TestCheck(t *testing.T) {
	whole := Entry{"boost_pa", "boost", nil, "Pressure above the venue's.", "pm − p", "definition", "everywhere"}
	assert.NoError(t, Check([]Entry{whole}))
	assert.ErrorContains(t, Check([]Entry{whole, whole}), "twice")
	for _, change := range []func(*Entry){
		func(e *Entry) { e.Key = "Boost" },
		func(e *Entry) { e.Title = "" },
		func(e *Entry) { e.Meaning = "" },
		func(e *Entry) { e.Formula = "" },
		func(e *Entry) { e.Source = "" },
		func(e *Entry) { e.Range = "" },
	} {
		e := whole
		change(&e)
		assert.Error(t, Check([]Entry{e}))
	}
}

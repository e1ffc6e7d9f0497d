package sheet

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"bellmouth/internal/check"
)

// Where nothing is allowed the table says why.
func TestNothingAllowed(t *testing.T) {
	r := solved(t, hillclimb, "open", 5000)
	r.Trim.Limits.TurbineInletTemperature = 273.15 + 600
	cell := column(t, AllowedBoost(check.Allowed(r.Run)), "allowed_boost_pa")[0]
	assert.Contains(t, cell.Note(), "fails at the least boost too")
}

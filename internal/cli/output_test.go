package cli

import (
	"errors"
	"io/fs"
	"strings"
	"syscall"
	"testing"

	"github.com/stretchr/testify/assert"
)

type fullDisk struct{}

func (fullDisk) Write([]byte) (int, error) {
	return 0, &fs.PathError{Op: "write", Path: "/dev/stdout", Err: syscall.ENOSPC}
}

// TestUnwrittenOutput: what does not reach standard output is an error, whoever writes it.
func TestUnwrittenOutput(t *testing.T) {
	for _, args := range []string{"--help", "help air", "air --help", "--version", "version", "explain", "explain shaft_rpm", "spec new",
		"air ../../examples/hillclimb.yaml", "air ../../examples/hillclimb.yaml -o -", "spec check ../../examples/hillclimb.yaml --format csv"} {
		var errs strings.Builder
		status := Main(strings.Fields(args), strings.NewReader(""), fullDisk{}, &errs)
		assert.Equal(t, statusInput, status, args)
		assert.Contains(t, errs.String(), "bellmouth: writing standard output: no space left on device\n", args)
	}
	assert.Equal(t, errors.New("x"), plainReason(errors.New("x")))
}

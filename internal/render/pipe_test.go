//go:build unix

package render

import (
	"io"
	"path/filepath"
	"syscall"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// TestWritePipe: a pipe that nothing reads is an error, not a wait.
func TestWritePipe(t *testing.T) {
	path := filepath.Join(t.TempDir(), "pipe")
	require.NoError(t, syscall.Mkfifo(path, 0o600))
	err := WriteFile(path, func(w io.Writer) error {
		_, err := io.WriteString(w, "x")
		return err
	})
	assert.ErrorIs(t, err, syscall.ENXIO)
	assert.ErrorContains(t, err, "writing "+path+": ")
}

//go:build unix

package spec

import (
	"os"
	"path/filepath"
	"syscall"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// TestPipe: a pipe is read like a file, and one that nothing writes to is not waited for.
func TestPipe(t *testing.T) {
	path := filepath.Join(t.TempDir(), "pipe")
	require.NoError(t, syscall.Mkfifo(path, 0o600))
	_, err := Load(path)
	assert.EqualError(t, err, path+": is a pipe that nothing writes to; want a file")

	w, err := os.OpenFile(path, os.O_RDWR, 0) // a writer, which does not wait for the reader
	require.NoError(t, err)
	go func() {
		defer w.Close()
		_, _ = w.WriteString(engine)
		// The writing end is closed once the reader has its own open and the text in it.
		r, err := os.OpenFile(path, os.O_RDONLY, 0)
		if err == nil {
			r.Close()
		}
	}()
	s, err := Load(path)
	require.NoError(t, err)
	assert.Equal(t, "pipe", s.Name)
}

// TestUnreadable: the reason is the system's, without what the program did to meet it.
func TestUnreadable(t *testing.T) {
	dir := t.TempDir()
	path := filepath.Join(dir, "a.yaml")
	require.NoError(t, os.WriteFile(path, []byte(engine), 0o644))
	_, err := Load(filepath.Join(path, "b.yaml"))
	assert.EqualError(t, err, filepath.Join(path, "b.yaml")+": cannot be read: not a directory")

	if os.Geteuid() == 0 {
		t.Skip("root reads everything")
	}
	require.NoError(t, os.Chmod(path, 0))
	_, err = Load(path)
	assert.EqualError(t, err, path+": cannot be read: permission denied")
	text := engine + "compressor: {map: a.yaml, reference_temperature: 298 K, reference_pressure: 1 bar}\n"
	other := filepath.Join(dir, "b.yaml")
	require.NoError(t, os.WriteFile(other, []byte(text), 0o644))
	_, err = Load(other)
	assert.EqualError(t, err, other+":8:19: compressor.map is a.yaml; "+path+" cannot be read: permission denied")
}

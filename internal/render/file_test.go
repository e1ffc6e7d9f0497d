package render_test

import (
	"errors"
	"io"
	"os"
	"path/filepath"
	"testing"

	"bellmouth/internal/render"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func words(s string) func(io.Writer) error {
	return func(w io.Writer) error {
		_, err := io.WriteString(w, s)
		return err
	}
}

// only holds that a directory has one file, with that content.
func only(t *testing.T, dir, name, content string) {
	t.Helper()
	entries, err := os.ReadDir(dir)
	require.NoError(t, err)
	require.Len(t, entries, 1, "nothing is left beside the file")
	assert.Equal(t, name, entries[0].Name())
	got, err := os.ReadFile(filepath.Join(dir, name))
	require.NoError(t, err)
	assert.Equal(t, content, string(got))
}

func TestWriteFile(t *testing.T) {
	dir := t.TempDir()
	path := filepath.Join(dir, "out.csv")
	require.NoError(t, render.WriteFile(path, words("first")))
	only(t, dir, "out.csv", "first")

	require.NoError(t, os.Chmod(path, 0o600))
	require.NoError(t, render.WriteFile(path, words("second")))
	only(t, dir, "out.csv", "second")
	info, err := os.Stat(path)
	require.NoError(t, err)
	assert.Equal(t, os.FileMode(0o600), info.Mode().Perm())
}

func TestWriteFileKeepsWhatWasThere(t *testing.T) {
	dir := t.TempDir()
	path := filepath.Join(dir, "out.csv")
	broken := errors.New("no solution")
	half := func(w io.Writer) error { return errors.Join(words("half")(w), broken) }

	err := render.WriteFile(path, half)
	require.ErrorIs(t, err, broken)
	assert.ErrorContains(t, err, path)
	assert.NoFileExists(t, path)

	require.NoError(t, render.WriteFile(path, words("whole")))
	require.ErrorIs(t, render.WriteFile(path, half), broken)
	only(t, dir, "out.csv", "whole")
}

func TestWriteFileThroughLink(t *testing.T) {
	dir, elsewhere := t.TempDir(), t.TempDir()
	link, target := filepath.Join(dir, "link"), filepath.Join(elsewhere, "target")
	require.NoError(t, os.WriteFile(target, []byte("old"), 0o644))
	require.NoError(t, os.Symlink(target, link))
	require.NoError(t, render.WriteFile(link, words("new")))
	only(t, elsewhere, "target", "new")
	info, err := os.Lstat(link)
	require.NoError(t, err)
	assert.NotZero(t, info.Mode()&os.ModeSymlink, "the link is still one")
}

// TestWriteFileThroughDanglingLink: the file that the link waits for is made, and the link stays.
func TestWriteFileThroughDanglingLink(t *testing.T) {
	dir := t.TempDir()
	require.NoError(t, os.Mkdir(filepath.Join(dir, "there"), 0o755))
	link := filepath.Join(dir, "link")
	require.NoError(t, os.Symlink(filepath.Join("there", "second"), link))
	require.NoError(t, os.Symlink("target", filepath.Join(dir, "there", "second")))
	require.NoError(t, render.WriteFile(link, words("new")))
	for _, l := range []string{link, filepath.Join(dir, "there", "second")} {
		info, err := os.Lstat(l)
		require.NoError(t, err)
		assert.NotZero(t, info.Mode()&os.ModeSymlink, "%s is still a link", l)
	}
	got, err := os.ReadFile(filepath.Join(dir, "there", "target"))
	require.NoError(t, err)
	assert.Equal(t, "new", string(got))

	lost := filepath.Join(dir, "lost")
	require.NoError(t, os.Symlink(filepath.Join("nowhere", "target"), lost))
	assert.ErrorContains(t, render.WriteFile(lost, words("new")), "writing "+lost+": directory ")
	round := filepath.Join(dir, "round")
	require.NoError(t, os.Symlink("round", round))
	assert.EqualError(t, render.WriteFile(round, words("new")), "writing "+round+": its symbolic links lead round in a circle")
}

// TestWriteFileNamesTheUsersFile: the disk's error is about a file that the user has never heard of.
func TestWriteFileNamesTheUsersFile(t *testing.T) {
	dir := t.TempDir()
	path := filepath.Join(dir, "out.csv")
	err := render.WriteFile(path, func(w io.Writer) error {
		f, ok := w.(*os.File)
		require.True(t, ok)
		require.NoError(t, f.Close()) // so that the write fails in the system's own way
		return words("x")(w)
	})
	assert.EqualError(t, err, "writing "+path+": file already closed")
	entries, err := os.ReadDir(dir)
	require.NoError(t, err)
	assert.Empty(t, entries, "nothing is left behind")
	require.NoError(t, os.Chmod(dir, 0o755))
}

func TestWriteFileToADevice(t *testing.T) {
	require.NoError(t, render.WriteFile(os.DevNull, words("gone")))
	info, err := os.Stat(os.DevNull)
	require.NoError(t, err)
	assert.NotZero(t, info.Mode()&os.ModeDevice, "the device is still one")
	assert.ErrorIs(t, render.WriteFile(os.DevNull, func(io.Writer) error { return errFull }), errFull)
}

func TestWriteFileErrors(t *testing.T) {
	dir := t.TempDir()
	assert.ErrorContains(t, render.WriteFile(dir, words("")), "it is a directory")
	assert.ErrorIs(t, render.WriteFile(filepath.Join(dir, "none", "out.csv"), words("")), os.ErrNotExist)
	assert.Error(t, render.WriteFile("", words("")))
}

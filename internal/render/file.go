package render

import (
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"

	"github.com/google/renameio/v2"
)

// WriteFile writes what write produces to the file at path, whole or not at all: when write or the disk fails, a file that was
// there stays as it was. A symbolic link is kept and the file behind it replaced; what is there but no file, such as a
// terminal or a pipe, is written to directly.
func WriteFile(path string, write func(io.Writer) error) (err error) {
	target, err := filepath.EvalSymlinks(path)
	if errors.Is(err, fs.ErrNotExist) {
		target, err = path, nil
	}
	if err != nil {
		return fmt.Errorf("writing %s: %w", path, err)
	}
	info, err := os.Stat(target)
	switch {
	case err == nil && info.IsDir():
		return fmt.Errorf("writing %s: it is a directory", path)
	case err == nil && !info.Mode().IsRegular():
		return writeDevice(target, write)
	}
	file, err := renameio.NewPendingFile(target, renameio.WithPermissions(0o644), renameio.WithExistingPermissions())
	if err != nil {
		return fmt.Errorf("writing %s: %w", path, err)
	}
	defer func() {
		err = errors.Join(err, file.Cleanup()) // does nothing once the file has been replaced
	}()
	if err := write(file); err != nil {
		return fmt.Errorf("writing %s: %w", path, err)
	}
	if err := file.CloseAtomicallyReplace(); err != nil {
		return fmt.Errorf("writing %s: %w", path, err)
	}
	return nil
}

func writeDevice(path string, write func(io.Writer) error) error {
	file, err := os.OpenFile(path, os.O_WRONLY, 0)
	if err != nil {
		return fmt.Errorf("writing: %w", err)
	}
	if err := errors.Join(write(file), file.Close()); err != nil {
		return fmt.Errorf("writing %s: %w", path, err)
	}
	return nil
}

package render

import (
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"syscall"

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
		return writeDevice(target, info.Mode(), write)
	}
	if _, err := os.Stat(filepath.Dir(target)); err != nil {
		return fmt.Errorf("writing %s: directory %s: %w", path, filepath.Dir(target), reason(err))
	}
	file, err := renameio.NewPendingFile(target, renameio.WithPermissions(0o644), renameio.WithExistingPermissions())
	if err != nil {
		return fmt.Errorf("writing %s: %w", path, reason(err))
	}
	defer func() {
		err = errors.Join(err, file.Cleanup()) // does nothing once the file has been replaced
	}()
	if err := write(file); err != nil {
		return fmt.Errorf("writing %s: %w", path, err)
	}
	if err := file.CloseAtomicallyReplace(); err != nil {
		return fmt.Errorf("writing %s: %w", path, reason(err))
	}
	return nil
}

// reason takes the operation and the name off an error of the file system: the name is that of a temporary file.
func reason(err error) error {
	var p *fs.PathError
	if errors.As(err, &p) {
		return p.Err
	}
	var l *os.LinkError
	if errors.As(err, &l) {
		return l.Err
	}
	return err
}

func writeDevice(path string, mode fs.FileMode, write func(io.Writer) error) error {
	flag := os.O_WRONLY
	if mode&fs.ModeNamedPipe != 0 {
		flag |= syscall.O_NONBLOCK // a pipe that nothing reads is an error; opening it would wait without an end
	}
	file, err := os.OpenFile(path, flag, 0)
	if err != nil {
		return fmt.Errorf("writing %s: %w", path, reason(err))
	}
	if err := errors.Join(write(file), file.Close()); err != nil {
		return fmt.Errorf("writing %s: %w", path, reason(err))
	}
	return nil
}

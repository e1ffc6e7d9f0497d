package render

import (
	"errors"
	"fmt"
	"io"
	"io/fs"
	"math/rand/v2"
	"os"
	"path/filepath"
	"syscall"
)

// WriteFile writes what write produces to the file at path, whole or not at all: when write or the disk fails, a file that was
// there stays as it was. A symbolic link is kept and the file behind it replaced, or made where there is none yet; what is there
// but no file, such as a terminal or a pipe, is written to directly. Every error names path.
func WriteFile(path string, write func(io.Writer) error) error {
	target, err := behindLinks(path)
	if err == nil {
		info, statErr := os.Stat(target)
		switch {
		case statErr == nil && info.IsDir():
			err = errors.New("it is a directory")
		case statErr == nil && !info.Mode().IsRegular():
			err = writeDevice(target, info.Mode(), write)
		case statErr == nil:
			err = replace(target, info.Mode().Perm(), write)
		case errors.Is(statErr, fs.ErrNotExist):
			err = replace(target, 0, write)
		default:
			err = reason(statErr, target)
		}
	}
	if err != nil {
		return fmt.Errorf("writing %s: %w", path, err)
	}
	return nil
}

// behindLinks returns the path that a symbolic link leads to at last, whether anything is there or not.
func behindLinks(path string) (string, error) {
	if path == "" {
		return "", errors.New("the name is empty")
	}
	const most = 40 // as systems have it
	for range most {
		info, err := os.Lstat(path)
		if err != nil || info.Mode()&fs.ModeSymlink == 0 {
			return path, nil // what is wrong with it shows when it is opened
		}
		next, err := os.Readlink(path)
		if err != nil {
			return "", reason(err, path)
		}
		if !filepath.IsAbs(next) {
			// From the folder that the link stands in, whose own links count before any "..".
			folder, err := filepath.EvalSymlinks(filepath.Dir(path))
			if err != nil {
				return "", reason(err, path)
			}
			next = filepath.Join(folder, next)
		}
		path = next
	}
	return "", errors.New("its symbolic links lead round in a circle")
}

// replace writes a file beside the target and puts it in the target's place once it is whole and on the disk. mode is that of the
// file that is there, 0 for none.
func replace(target string, mode fs.FileMode, write func(io.Writer) error) (err error) {
	dir := filepath.Dir(target)
	if _, err := os.Stat(dir); err != nil {
		return fmt.Errorf("directory %s: %w", dir, reason(err, dir))
	}
	file, err := temporary(target)
	if err != nil {
		return reason(err, "")
	}
	name := file.Name()
	defer func() {
		if err != nil {
			_ = file.Close() // whether it was still open or not
			_ = os.Remove(name)
			err = reason(err, name)
		}
	}()
	if mode != 0 {
		if err := file.Chmod(mode); err != nil {
			return err
		}
	}
	if err := write(file); err != nil {
		return err
	}
	if err := file.Sync(); err != nil {
		return err
	}
	if err := file.Close(); err != nil {
		return err
	}
	return os.Rename(name, target)
}

// temporary returns a new file in the target's folder, with the permissions that new files have.
func temporary(target string) (*os.File, error) {
	for try := 0; ; try++ {
		name := filepath.Join(filepath.Dir(target), fmt.Sprintf(".%s.%08x", filepath.Base(target), rand.Uint32()))
		file, err := os.OpenFile(name, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o644)
		if !errors.Is(err, fs.ErrExist) || try == 100 {
			return file, err
		}
	}
}

// reason takes the operation and the name off an error of the file system about that name, which is the user's file or one that
// stands for it; an empty name is any.
func reason(err error, name string) error {
	var p *fs.PathError
	if errors.As(err, &p) && (name == "" || p.Path == name) {
		return p.Err
	}
	var l *os.LinkError
	if errors.As(err, &l) && (name == "" || l.Old == name) {
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
		return reason(err, path)
	}
	if err := write(file); err != nil {
		_ = file.Close()
		return reason(err, path)
	}
	return reason(file.Close(), path)
}

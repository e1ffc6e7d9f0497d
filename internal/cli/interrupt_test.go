package cli

import (
	"bytes"
	"context"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"strings"
	"sync/atomic"
	"syscall"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

const interruptedLine = "bellmouth: interrupted\n"

// TestSignals: a signal in the middle of a run of minutes ends it at once, with one line and a status of its own; no file is begun, and one that
// is there stays.
func TestSignals(t *testing.T) {
	if runtime.GOOS == "windows" {
		t.Skip("no process can send another an interrupt there")
	}
	const long = 20 * time.Second // none of the runs below ends by itself within it
	there := "what was there before\n"
	for _, c := range []struct {
		name, args string
		signal     os.Signal
	}{
		{"interrupt, no file yet", "spark - --trim capped --rpm 1500:7500:10 --pressure 0.4:2.4:0.05 --output new.txt", os.Interrupt},
		{"interrupt, over a file", "spark - --trim capped --rpm 1500:7500:10 --pressure 0.4:2.4:0.05 --output there.txt --force", os.Interrupt},
		{"terminate, a directory", "spark - --trim capped --rpm 1500:7500:10 --pressure 0.4:2.4:0.05 --format csv --output tables/", syscall.SIGTERM},
	} {
		t.Run(c.name, func(t *testing.T) {
			dir := t.TempDir()
			require.NoError(t, os.CopyFS(dir, os.DirFS("../../examples")))
			require.NoError(t, os.WriteFile(filepath.Join(dir, "there.txt"), []byte(there), 0o600))
			before := listing(t, dir)
			text, err := os.ReadFile("../../examples/hillclimb.yaml")
			require.NoError(t, err)
			// More than a pipe holds: once it is written the program is running.
			padded := append(text, bytes.Repeat([]byte("# and so on\n"), 1<<17/12)...)

			var out, errs bytes.Buffer
			cmd := exec.Command("bellmouth", strings.Fields(c.args)...)
			cmd.Dir, cmd.Stdout, cmd.Stderr = dir, &out, &errs
			in, err := cmd.StdinPipe()
			require.NoError(t, err)
			require.NoError(t, cmd.Start())
			_, err = in.Write(padded)
			require.NoError(t, err)
			require.NoError(t, in.Close())
			time.Sleep(300 * time.Millisecond) // most likely it computes by then; it must end the same way where it does not yet
			watchdog := time.AfterFunc(long, func() { _ = cmd.Process.Kill() })
			defer watchdog.Stop()
			require.NoError(t, cmd.Process.Signal(c.signal))

			var exit *exec.ExitError
			require.ErrorAs(t, cmd.Wait(), &exit)
			assert.Equal(t, statusInterrupted, exit.ExitCode())
			assert.Equal(t, interruptedLine, errs.String())
			assert.Empty(t, out.String())
			assert.Equal(t, before, listing(t, dir))
		})
	}
}

// listing returns the files below a folder with what is in them.
func listing(t *testing.T, dir string) map[string]string {
	t.Helper()
	files := map[string]string{}
	require.NoError(t, filepath.WalkDir(dir, func(path string, entry os.DirEntry, err error) error {
		if err != nil || path == dir {
			return err
		}
		files[path] = ""
		if !entry.IsDir() {
			data, err := os.ReadFile(path)
			require.NoError(t, err)
			files[path] = string(data)
		}
		return nil
	}))
	return files
}

// A countdown is a context that ends when it is asked for the nth time whether it has, and counts.
type countdown struct {
	context.Context
	cancel func()
	nth    int64
	asked  atomic.Int64
}

func newCountdown(t *testing.T, nth int64) *countdown {
	c := &countdown{nth: nth}
	c.Context, c.cancel = context.WithCancel(t.Context())
	return c
}

func (c *countdown) Err() error {
	if c.asked.Add(1) == c.nth {
		c.cancel()
	}
	return c.Context.Err()
}

// TestInterruptedAnywhere: wherever the computing of a command is cut short, nothing of it is printed.
func TestInterruptedAnywhere(t *testing.T) {
	t.Parallel()
	next := func(nth int64) int64 { return 1 + 7*nth } // the places get rarer
	if *soak {
		next = func(nth int64) int64 { return 1 + nth + nth/2 }
	}
	for _, args := range []string{
		"air hillclimb.yaml", "sheet hillclimb.yaml", "check hillclimb.yaml", "boost hillclimb.yaml --allowed --trim open",
		"boost hillclimb.yaml --allowed --as-target",
		"boost hillclimb.yaml --by-gear --by-pedal --rpm 3000:6000:1500", "wastegate hillclimb.yaml", "spark hillclimb.yaml --rpm 3000:6000:1000",
		"fuel hillclimb.yaml --plane --rpm 3000:6000:1000", "manifold hillclimb.yaml", "restrictor hillclimb.yaml", "sheet club-four.yaml",
	} {
		words := strings.Fields(args)
		words[1] = "../../examples/" + words[1]
		t.Run(args, func(t *testing.T) {
			var out, errs bytes.Buffer
			whole := newCountdown(t, 0)
			status := mainOn(whole, words, streams{in: strings.NewReader(""), out: &out, err: &errs})
			asked := whole.asked.Load()
			if status != statusWell {
				asked-- // the last time when all is written
			}
			require.Positive(t, asked)
			for nth := int64(1); nth <= asked; nth = next(nth) {
				var out, errs bytes.Buffer
				got := mainOn(newCountdown(t, nth), words, streams{in: strings.NewReader(""), out: &out, err: &errs})
				assert.Equal(t, statusInterrupted, got, "after %d of %d", nth, asked)
				assert.Equal(t, interruptedLine, errs.String())
				assert.Empty(t, out.String())
			}
		})
	}
}

// A stuck stream ends a context when it is used, and then never returns.
type stuck struct {
	cancel func()
	stay   chan struct{}
}

func (s stuck) Read([]byte) (int, error)  { s.cancel(); <-s.stay; return 0, io.EOF }
func (s stuck) Write([]byte) (int, error) { s.cancel(); <-s.stay; return 0, io.ErrClosedPipe }

// TestInterruptedStreams: a spec that never comes and a reader that reads no more keep no interrupt waiting.
func TestInterruptedStreams(t *testing.T) {
	for _, c := range []struct {
		args string
		in   bool
	}{{"air -", true}, {"air ../../examples/hillclimb.yaml", false}, {"--help", false}} {
		ctx, cancel := context.WithCancel(t.Context())
		s := stuck{cancel, make(chan struct{})}
		var errs bytes.Buffer
		on := streams{in: strings.NewReader(""), out: s, err: &errs}
		if c.in {
			on.in, on.out = s, &bytes.Buffer{}
		}
		assert.Equal(t, statusInterrupted, mainOn(ctx, strings.Fields(c.args), on), c.args)
		assert.Equal(t, interruptedLine, errs.String(), c.args)
		close(s.stay)
	}
}

// Package cli is the command line: it parses, has things computed, and renders them. One file a command.
package cli

import (
	"context"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"os/signal"
	"syscall"

	"github.com/spf13/cobra"

	"bellmouth/internal/render"
	"bellmouth/internal/sheet"
	"bellmouth/internal/spec"
	"bellmouth/internal/table"
	"bellmouth/internal/units"
)

// The exit statuses.
const (
	statusWell        = 0
	statusCheckFailed = 1 // only of check: a limit is passed
	statusInput       = 2 // wrong input or usage, and output that cannot be written
	statusNoSolution  = 3 // an operating point has none; it comes before a failed check, which had not all of it to judge

	statusInterrupted = 130 // by SIGINT or SIGTERM: as shells have it for the first
)

// An unsolvedError reports operating points without a solution. The document with all the others has been written.
type unsolvedError struct{ points []error }

func (e *unsolvedError) Error() string {
	const listed = 5
	text := "no solution for " + plural(len(e.points), "operating point")
	for i, p := range e.points {
		if i == listed {
			text += fmt.Sprintf("\n  and %d more", len(e.points)-listed)
			break
		}
		text += "\n  " + p.Error()
	}
	return text
}

func (e *unsolvedError) Unwrap() []error { return e.points }

func plural(n int, noun string) string {
	if n == 1 {
		return "1 " + noun
	}
	return fmt.Sprintf("%d %ss", n, noun)
}

// streams are what a command reads and writes.
type streams struct {
	in       io.Reader
	out, err io.Writer
	seen     func(doc table.Document) // gets what is written, before its words are put into a system; nil: nobody asks
	solve    solver                   // in place of sheet.Solve; nil: that
}

// A solver returns a trim's operating points at engine speeds, rad/s; command is what a missing section is missing for.
type solver func(ctx context.Context, command string, trim *spec.Trim, speeds []float64) (*sheet.Run, error)

// Main runs the command line and returns the exit status: 0 well, 1 a check failed, 2 wrong input or usage, 3 no solution, 130 interrupted.
//
// SIGINT, which is Ctrl-C, and SIGTERM end the computing, and nothing is written then. A second one ends the process at once.
func Main(args []string, stdin io.Reader, stdout, stderr io.Writer) int {
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM)
	defer stop()
	context.AfterFunc(ctx, stop)
	return mainOn(ctx, args, streams{in: stdin, out: stdout, err: stderr})
}

func mainOn(ctx context.Context, args []string, s streams) int {
	out, stderr := &watched{ctx: ctx, w: s.out}, s.err
	s.out = out
	root := newRoot(s)
	root.SetArgs(args)
	root.SetIn(s.in)
	root.SetOut(out)
	root.SetErr(stderr)
	cmd, err := root.ExecuteContextC(ctx)
	if err == nil {
		err = out.err // of the help, say, whose writer does not look
	}
	if err == nil {
		return statusWell
	}
	if ctx.Err() != nil { // whatever else went wrong for it
		fmt.Fprintln(stderr, "bellmouth: interrupted")
		return statusInterrupted
	}
	var bad *spec.Error
	if errors.As(err, &bad) {
		fmt.Fprintln(stderr, bad) // each line begins with the file, as editors and compilers have it
		return statusInput
	}
	fmt.Fprintf(stderr, "bellmouth: %s\n", printable(units.Resolve(err.Error(), systemAskedOf(cmd))))
	var unsolved *unsolvedError
	var failed *failedError
	switch {
	case errors.As(err, &unsolved):
		return statusNoSolution
	case errors.As(err, &failed):
		return statusCheckFailed
	}
	return statusInput
}

// systemAskedOf returns the system that a command's words are in.
func systemAskedOf(cmd *cobra.Command) units.System {
	asked := func(flag string) string {
		if f := cmd.Flags().Lookup(flag); f != nil {
			return f.Value.String()
		}
		return ""
	}
	return systemOf(asked("format"), asked("units"))
}

// A watched writer keeps the first error, for what is written by those who do not look. Whoever reads its output slowly does not keep an
// interrupt waiting.
type watched struct {
	ctx context.Context
	w   io.Writer
	err error
}

func (w *watched) Write(p []byte) (int, error) {
	n, err := unlessInterrupted(w.ctx, func() (int, error) { return w.w.Write(p) })
	if err != nil {
		err = fmt.Errorf("writing standard output: %w", plainReason(err))
		if w.err == nil {
			w.err = err
		}
	}
	return n, err
}

// unlessInterrupted returns what do returns, or the context's error if this is done before: do then goes on unheard.
func unlessInterrupted[T any](ctx context.Context, do func() (T, error)) (T, error) {
	type result struct {
		x   T
		err error
	}
	done := make(chan result, 1)
	go func() {
		x, err := do()
		done <- result{x, err}
	}()
	select {
	case r := <-done:
		return r.x, r.err
	case <-ctx.Done():
		var none T
		return none, ctx.Err()
	}
}

// plainReason takes the operation and the name, which is that of no file, off an error of the file system.
func plainReason(err error) error {
	var p *fs.PathError
	if errors.As(err, &p) {
		return p.Err
	}
	return err
}

func newRoot(s streams) *cobra.Command {
	root := &cobra.Command{
		Use:   "bellmouth",
		Short: "Calculates what a turbocharged competition engine gives, and what limits it",
		Long: `Bellmouth reads one YAML file, the spec, which describes an engine, its parts and the
trims it runs in, and computes where the engine settles at every speed and what limits it.

Start with "bellmouth spec new engine.yaml", put in your own figures, then
"bellmouth sheet engine.yaml".

Exit status: 0 well, 1 a check failed (check), 2 wrong input or usage, 3 an operating point
has no solution, 130 interrupted (Ctrl-C, SIGTERM): nothing is written then.`,
		Args:          usageArgs(cobra.NoArgs),
		SilenceErrors: true,
		SilenceUsage:  true,
		RunE:          func(cmd *cobra.Command, _ []string) error { return cmd.Help() },
		Version:       versionText(),
	}
	root.SetVersionTemplate("{{.Version}}\n")
	root.CompletionOptions.HiddenDefaultCmd = true
	root.SetFlagErrorFunc(func(cmd *cobra.Command, err error) error {
		return fmt.Errorf("%w; see %q", err, cmd.CommandPath()+" --help")
	})
	root.SetHelpCommand(newHelpCmd())
	root.AddCommand(
		newSheetCmd(s), newAirCmd(s), newGeometryCmd(s), newRestrictorCmd(s), newCompressorCmd(s), newTurbineCmd(s),
		newWastegateCmd(s), newBoostCmd(s), newManifoldCmd(s), newFuelCmd(s), newSparkCmd(s), newGearingCmd(s), newCourseCmd(s), newOilCmd(s),
		newWiringCmd(s), newCoolingCmd(s),
		newCheckCmd(s), newCompareCmd(s),
		newSpecCmd(s), newExplainCmd(s), newVersionCmd(s),
	)
	tellScriptKeys(root.Commands())
	return root
}

// newHelpCmd replaces the library's own, which takes a word that is no command for none.
func newHelpCmd() *cobra.Command {
	return &cobra.Command{
		Use:   "help [COMMAND]",
		Short: "Help about a command",
		RunE: func(cmd *cobra.Command, args []string) error {
			about, rest, err := cmd.Root().Find(args)
			if err == nil && len(rest) > 0 {
				err = fmt.Errorf("unknown command %q for %q", rest[0], about.CommandPath())
			}
			if err != nil {
				return fmt.Errorf("%w; see %q", err, "bellmouth --help")
			}
			about.InitDefaultHelpFlag()
			return about.Help()
		},
	}
}

// usageArgs makes the message about a wrong number of arguments say where to look.
func usageArgs(check cobra.PositionalArgs) cobra.PositionalArgs {
	return func(cmd *cobra.Command, args []string) error {
		if err := check(cmd, args); err != nil {
			return fmt.Errorf("%w; see %q", err, cmd.CommandPath()+" --help")
		}
		return nil
	}
}

// specArg wants the spec, and nothing else.
func specArg(cmd *cobra.Command, args []string) error {
	if len(args) == 1 && args[0] == "" {
		return fmt.Errorf("%s wants one spec file; its name is empty; see %q", cmd.Name(), cmd.CommandPath()+" --help")
	}
	if len(args) != 1 {
		return fmt.Errorf("%s wants one spec file; it got %s; see %q", cmd.Name(), plural(len(args), "argument"), cmd.CommandPath()+" --help")
	}
	return nil
}

// printable makes what a message quotes from the command line safe to print, line by line.
func printable(text string) string {
	var out []byte
	line := 0
	for i := 0; i <= len(text); i++ {
		if i == len(text) || text[i] == '\n' {
			out = append(out, render.Clean(text[line:i])...)
			if i < len(text) {
				out = append(out, '\n')
			}
			line = i + 1
		}
	}
	return string(out)
}

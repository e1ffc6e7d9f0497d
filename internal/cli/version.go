package cli

import (
	"fmt"
	"runtime"
	"runtime/debug"

	"github.com/spf13/cobra"

	"bellmouth/internal/render"
)

func newVersionCmd(s streams) *cobra.Command {
	return &cobra.Command{
		Use:     "version",
		Short:   "Version of the program, of Go, and of the JSON output",
		Example: "  bellmouth version",
		Args:    usageArgs(cobra.NoArgs),
		RunE: func(*cobra.Command, []string) error {
			_, err := fmt.Fprintln(s.out, versionText())
			return err
		},
	}
}

// versionText tells which build this is, as far as it knows.
func versionText() string {
	version, revision, changed := "(devel)", "", false
	if info, ok := debug.ReadBuildInfo(); ok {
		if info.Main.Version != "" {
			version = info.Main.Version
		}
		for _, s := range info.Settings {
			switch s.Key {
			case "vcs.revision":
				revision = s.Value
			case "vcs.modified":
				changed = s.Value == "true"
			}
		}
	}
	text := "bellmouth " + version
	if len(revision) >= 12 {
		text += " " + revision[:12]
		if changed {
			text += " with changes"
		}
	}
	return fmt.Sprintf("%s, %s %s/%s, JSON %s", text, runtime.Version(), runtime.GOOS, runtime.GOARCH, render.Schema)
}

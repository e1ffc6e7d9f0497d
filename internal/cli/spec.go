package cli

import (
	"context"
	"fmt"
	"io"
	"os"
	"path/filepath"

	"github.com/spf13/cobra"

	"bellmouth/internal/render"
	"bellmouth/internal/sheet"
	"bellmouth/internal/spec"
	"bellmouth/internal/table"
)

func newSpecCmd(s streams) *cobra.Command {
	cmd := &cobra.Command{
		Use:   "spec",
		Short: "Begin a spec, or check one",
		Args:  usageArgs(cobra.NoArgs),
		RunE:  func(cmd *cobra.Command, _ []string) error { return cmd.Help() },
	}
	cmd.AddCommand(newSpecNewCmd(s), newSpecCheckCmd(s))
	return cmd
}

func newSpecNewCmd(s streams) *cobra.Command {
	var force bool
	cmd := &cobra.Command{
		Use:   "new [FILE]",
		Short: "Write a spec to start from, every key explained",
		Long: `new writes a spec with every key and what it means, and beside it ` + spec.TemplateMapName + `, a
compressor map to start from. Their figures are invented: replace them by your own. Without
FILE, or with -, the spec goes to standard output, and no map is written.`,
		Example: "  bellmouth spec new engine.yaml",
		Args:    usageArgs(cobra.MaximumNArgs(1)),
		RunE: func(_ *cobra.Command, args []string) error {
			if len(args) == 0 || args[0] == standardOutput {
				_, err := s.out.Write(spec.Template())
				return err
			}
			return runSpecNew(s, args[0], force)
		},
	}
	cmd.Flags().BoolVar(&force, "force", false, "replace files that exist")
	return cmd
}

func runSpecNew(s streams, path string, force bool) error {
	mapPath := filepath.Join(filepath.Dir(path), spec.TemplateMapName)
	if filepath.Clean(path) == mapPath {
		return fmt.Errorf("%s is the name of the compressor map beside the spec; choose another", path)
	}
	if dir := filepath.Dir(path); dir != "." {
		if info, err := os.Stat(dir); err != nil || !info.IsDir() {
			return fmt.Errorf("%s is not a directory", dir)
		}
	}
	files := []struct {
		path string
		data []byte
	}{{path, spec.Template()}, {mapPath, spec.TemplateMap()}}
	for _, f := range files { // all before the first is written
		if err := mayWrite(f.path, force); err != nil {
			return err
		}
	}
	for _, f := range files {
		if err := render.WriteFile(f.path, func(w io.Writer) error {
			_, err := w.Write(f.data)
			return err
		}); err != nil {
			return err
		}
	}
	_, err := fmt.Fprintf(s.err, "wrote %s and %s; next: bellmouth sheet %s\n", render.Clean(path), render.Clean(mapPath), render.Clean(path))
	return err
}

func newSpecCheckCmd(s streams) *cobra.Command {
	var o options
	cmd := &cobra.Command{
		Use:   "check SPEC",
		Short: "Read a spec and say what is wrong with it, or what it leaves to defaults",
		Long: `check reads the spec and the compressor map it names, and reports all that is wrong with them
at once, by line and column, on standard error: for every trim, at every venue. When nothing
is, it prints what the trims have, which commands that is enough for and what the others
lack, the venues by name, and what is left to defaults. Nothing is computed.`,
		Example: "  bellmouth spec check examples/hillclimb.yaml",
		Args:    specArg,
		RunE: func(cmd *cobra.Command, args []string) error {
			o.spec = args[0]
			return runSpecCheck(cmd.Context(), s, o)
		},
	}
	o.specFlags(cmd)
	o.outputOptions.flags(cmd)
	return cmd
}

func runSpecCheck(ctx context.Context, s streams, o options) error {
	sp, trims, err := o.load(ctx, s)
	if err != nil {
		return err
	}
	doc := table.Document{Command: "spec check", Spec: sp.Path, Tables: []table.Table{sheet.Trims(trims), enoughFor(trims)}}
	if names := sp.Venues(); names != nil {
		t, err := venueTable(sp, names)
		if err != nil {
			return err
		}
		doc.Tables = append(doc.Tables, t)
	}
	if t, ok := sheet.Defaults(trims); ok {
		doc.Tables = append(doc.Tables, t)
	}
	return o.write(ctx, s, doc)
}

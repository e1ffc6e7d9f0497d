package cli

import (
	"os"
	"strings"
	"testing"

	"github.com/rogpeppe/go-internal/testscript"
)

func TestMain(m *testing.M) {
	if testing.Testing() && os.Getenv("COLUMNS") != "" && len(os.Args) > 0 && strings.HasSuffix(os.Args[0], ".test") {
		_ = os.Unsetenv("COLUMNS") // of the shell that the tests are run from
	}
	testscript.Main(m, map[string]func(){
		"bellmouth": func() { os.Exit(Main(os.Args[1:], os.Stdin, os.Stdout, os.Stderr)) },
		// status runs bellmouth and wants a certain exit status: status 2 boost x.yaml
		"status": func() {
			want := int(os.Args[1][0] - '0')
			if got := Main(os.Args[2:], os.Stdin, os.Stdout, os.Stderr); got != want {
				println("exit status", got)
				os.Exit(1)
			}
		},
	})
}

func TestScripts(t *testing.T) {
	testscript.Run(t, testscript.Params{
		Dir: "testdata/script",
		Setup: func(env *testscript.Env) error {
			if err := os.CopyFS(env.Cd, os.DirFS("../../examples")); err != nil {
				return err
			}
			for _, name := range []string{"twin.yaml", "twin-map.csv", "runaway.yaml"} {
				data, err := os.ReadFile("testdata/" + name)
				if err != nil {
					return err
				}
				if err := os.WriteFile(env.Cd+"/"+name, data, 0o644); err != nil {
					return err
				}
			}
			return nil
		},
	})
}

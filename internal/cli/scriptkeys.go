package cli

import (
	_ "embed"
	"strings"

	"github.com/spf13/cobra"
)

// scriptKeys has a line for each table with columns that stand only in CSV and JSON: the command, the table and the keys, between tabs. It is written by
// the test that holds it against the tables themselves: go test ./internal/cli -run ScriptKeys -update.
//
//go:embed scriptkeys.txt
var scriptKeys string

// tellScriptKeys adds to the help of commands which figures they have for scripts alone.
func tellScriptKeys(commands []*cobra.Command) {
	const width = 96
	byCommand := map[string]string{}
	for _, line := range strings.Split(strings.TrimSpace(scriptKeys), "\n") {
		fields := strings.Split(line, "\t")
		if len(fields) != 3 {
			continue
		}
		text := "  " + fields[1] + ":"
		at := len(text)
		for _, key := range strings.Fields(fields[2]) {
			if at+1+len(key) > width {
				text, at = text+"\n   ", 3
			}
			text, at = text+" "+key, at+1+len(key)
		}
		byCommand[fields[0]] += text + "\n"
	}
	for _, c := range commands {
		if keys := byCommand[c.Name()]; keys != "" {
			c.Long += "\n\nOnly in CSV and JSON, or by --columns:\n" + strings.TrimSuffix(keys, "\n")
		}
	}
}

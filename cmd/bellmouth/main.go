// Command bellmouth computes what a turbocharged competition engine gives, and what limits it, from one file that describes it.
package main

import (
	"os"

	"bellmouth/internal/cli"
)

func main() {
	os.Exit(cli.Main(os.Args[1:], os.Stdin, os.Stdout, os.Stderr))
}

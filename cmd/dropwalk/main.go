// Dropwalk takes people through the test of a car's intake system and says what
// the readings mean. This is its door; the commands are in package cli.
package main

import (
	"os"

	"dropwalk/cmd/internal/cli"
)

func main() { os.Exit(cli.Main()) }

// Command gen evaluates the equations of state at the nodes of the fast tables
// and writes their files. Run it by "go generate" in the package directory,
// after any change of a fluid file, an equation or a grid.
package main

import (
	"log"
	"os"

	"rung/internal/refrigerant"
)

func main() {
	log.SetFlags(0)
	for _, name := range refrigerant.Names() {
		file, content, err := refrigerant.Tabulate(name)
		if err != nil {
			log.Fatalf("%s: %v", name, err)
		}
		if err := os.WriteFile(file, content, 0o644); err != nil {
			log.Fatal(err)
		}
	}
}

// Command gen writes what is generated for package refrigerant. Run in the
// package directory, it evaluates the equations of state at the nodes of the
// fast tables and writes their files: "go generate", after any change of a
// fluid file, an equation or a grid. With the argument "viscosity" it fits
// data/viscosity.dat to gen/viscosity-rows.txt instead.
package main

import (
	"log"
	"os"

	"rung/internal/refrigerant"
)

func main() {
	log.SetFlags(0)
	write := tables
	if len(os.Args) > 1 {
		if os.Args[1] != "viscosity" || len(os.Args) > 2 {
			log.Fatal("usage: gen [viscosity]")
		}
		write = viscosity
	}
	if err := write(); err != nil {
		log.Fatal(err)
	}
}

func tables() error {
	for _, name := range refrigerant.Names() {
		file, content, err := refrigerant.Tabulate(name)
		if err != nil {
			return err
		}
		if err := os.WriteFile(file, content, 0o644); err != nil {
			return err
		}
	}
	return nil
}

package cli

import (
	"fmt"
	"io"

	"rung/internal/calc"
)

type calcCommand struct {
	unitsFlag
	List bool   `help:"Print every calculator with its fields, units, ranges and source."`
	Name string `arg:"" optional:"" help:"The calculator."`
}

// Run reads one JSON object or an array of them and writes the same shape.
func (c calcCommand) Run(env Env) error {
	if c.List {
		return printJSON(env.Stdout, calc.List())
	}
	calculator, ok := calc.Lookup(c.Name)
	if !ok {
		return fmt.Errorf("no calculator %q; rung calc --list shows all", c.Name)
	}
	doc, err := io.ReadAll(env.Stdin)
	if err != nil {
		return fmt.Errorf("read standard input: %w", err)
	}
	out, good := calculator.RunJSON(doc, c.system())
	if err := printJSON(env.Stdout, out); err != nil {
		return err
	}
	if !good {
		return errFailed
	}
	return nil
}

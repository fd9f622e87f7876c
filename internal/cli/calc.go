package cli

import (
	"fmt"
	"io"
	"strings"

	"rung/internal/calc"
	"rung/internal/chart"
)

type calcCommand struct {
	unitsFlag
	SVG  bool   `name:"svg" help:"Print the drawing of the result instead; of one object only."`
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
	if c.SVG {
		return c.draw(env, calculator, doc)
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

// draw prints the drawing of a result, in the units people read: US if asked
// for, else metric.
func (c calcCommand) draw(env Env, calculator calc.Calculator, doc []byte) error {
	if !calculator.Drawn {
		return fmt.Errorf("there is no drawing of %q; there is one of %s", calculator.Name, strings.Join(drawn(), ", "))
	}
	in, out, err := calculator.Answer(doc)
	if err != nil {
		if err := printJSON(env.Stdout, calc.Failure(err)); err != nil {
			return err
		}
		return errFailed
	}
	svg, err := chart.Draw(calculator.Name, in, out, c.system())
	if err != nil {
		return err
	}
	_, err = io.WriteString(env.Stdout, svg)
	return err
}

// drawn names the calculators whose result can be drawn.
func drawn() []string {
	var list []string
	for _, c := range calc.All() {
		if c.Drawn {
			list = append(list, c.Name)
		}
	}
	return list
}

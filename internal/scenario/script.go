package scenario

import (
	"fmt"
	"strings"
)

// Script is a call as text.
type Script struct {
	Title string
	Steps []Step
}

// Step is some commands and what must be true after them.
type Step struct {
	Commands []Line
	Wants    []Line
}

// Line is a word with what follows it.
type Line struct {
	Number int // in the file
	Word   string
	Rest   string
}

// Parse reads a script. Comment lines before the first command are its title.
func Parse(text string) (Script, error) {
	var s Script
	step, wanting := Step{}, false
	flush := func() {
		if len(step.Commands)+len(step.Wants) > 0 {
			s.Steps = append(s.Steps, step)
		}
		step, wanting = Step{}, false
	}
	for i, raw := range strings.Split(text, "\n") {
		line := strings.TrimSpace(raw)
		switch {
		case line == "" && wanting:
			flush()
		case line == "":
		case line[0] == '#':
			if len(s.Steps)+len(step.Commands) == 0 {
				s.Title = strings.TrimSpace(s.Title + " " + strings.TrimSpace(line[1:]))
			}
		case strings.Trim(line, "-") == "":
			wanting = true
		case wanting:
			word, rest, ok := strings.Cut(line, ":")
			if !ok {
				return s, fmt.Errorf("line %d: %q: want \"what: value\"", i+1, line)
			}
			step.Wants = append(step.Wants, Line{i + 1, strings.TrimSpace(word), strings.TrimSpace(rest)})
		default:
			word, rest, _ := strings.Cut(line, " ")
			step.Commands = append(step.Commands, Line{i + 1, word, strings.TrimSpace(rest)})
		}
	}
	flush()
	if len(s.Steps) == 0 {
		return s, fmt.Errorf("no steps")
	}
	return s, nil
}

// pairs reads "name = value; name = value".
func (l Line) pairs() (map[string]string, error) {
	m := map[string]string{}
	for _, part := range strings.Split(l.Rest, ";") {
		name, value, ok := strings.Cut(part, "=")
		if !ok {
			return nil, fmt.Errorf("line %d: %q: want name = value", l.Number, part)
		}
		m[strings.TrimSpace(name)] = strings.TrimSpace(value)
	}
	return m, nil
}

package system

import (
	"embed"
	"sort"
	"strings"
	"sync"
)

//go:embed data/*.txt data/part/*.txt
var files embed.FS

// library holds every description by its id.
var library = sync.OnceValue(func() map[string]*Description {
	entries, err := files.ReadDir("data")
	if err != nil {
		panic("system: " + err.Error())
	}
	all := map[string]*Description{}
	for _, e := range entries {
		if e.IsDir() || strings.HasSuffix(e.Name(), faultsEnding) {
			continue
		}
		d, err := describe(e.Name())
		if err != nil {
			panic("system: " + err.Error())
		}
		all[d.ID] = d
	}
	for _, d := range all {
		if err := d.inherit(all); err != nil {
			panic("system: " + err.Error())
		}
	}
	return all
})

// faultsEnding is how the file of the faults of a system ends: its own name
// stands before it.
const faultsEnding = "-faults.txt"

// describe reads a description and its faults.
func describe(name string) (*Description, error) {
	text, err := files.ReadFile("data/" + name)
	if err != nil {
		return nil, err
	}
	d, err := parse(name, string(text))
	if err != nil {
		return nil, err
	}
	faults := strings.TrimSuffix(name, ".txt") + faultsEnding
	text, err = files.ReadFile("data/" + faults)
	if err != nil {
		return d, nil // a system without faults is one still
	}
	d.Faults, err = parseFaults(faults, string(text), d)
	return d, err
}

// Describe returns the description of a kind of system.
func Describe(id string) (*Description, bool) {
	d, ok := library()[id]
	return d, ok
}

// IDs returns the kinds of system, sorted.
func IDs() []string {
	var ids []string
	for id := range library() {
		ids = append(ids, id)
	}
	sort.Strings(ids)
	return ids
}

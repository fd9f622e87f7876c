package cli

import (
	"context"
	"fmt"
	"runtime"
	"strings"
	"sync"
	"time"

	"rung/internal/diagnosis"
	"rung/internal/trial"
)

type trialCommand struct {
	Calls         int      `default:"200" help:"Calls to play."`
	Seed          uint64   `default:"1" help:"Seed of all chance."`
	Policy        []string `help:"Ways of working to compare, parted by commas; all if not given."`
	WrongReadings float64  `default:"0" help:"Share of readings that are plainly wrong."`
	ModelError    float64  `default:"0" help:"How far the hidden plants are from the model; 0.3 is the planned size."`
	Split         string   `enum:"tuning,testing" default:"testing" help:"Systems and days: those for tuning, or those for testing."`
	Workers       int      `default:"0" help:"Groups played at once; as many as the machine has processors if 0."`
	Details       bool     `help:"List the calls in which the first repair was not right."`
}

// Run plays the calls and prints the figures.
func (c trialCommand) Run(ctx context.Context, env Env) error {
	o := trial.Options{Calls: c.Calls, Seed: c.Seed, WrongShare: c.WrongReadings, ModelError: c.ModelError,
		Split: trial.Split(c.Split), Settings: diagnosis.DefaultSettings()}
	for _, name := range c.Policy {
		p := trial.Policy(name)
		if !knownPolicy(p) {
			return fmt.Errorf("no policy %q; there are %s", name, policyNames())
		}
		o.Policies = append(o.Policies, p)
	}
	plan, err := trial.NewPlan(o)
	if err != nil {
		return err
	}
	began := time.Now()
	played, err := playAll(ctx, plan, c.Workers)
	if err != nil {
		return err
	}
	report := plan.Report(played, c.Details)
	report.Seconds = time.Since(began).Seconds()
	return printJSON(env.Stdout, report)
}

func knownPolicy(p trial.Policy) bool {
	for _, q := range trial.Policies() {
		if p == q {
			return true
		}
	}
	return false
}

func policyNames() string {
	var names []string
	for _, p := range trial.Policies() {
		names = append(names, string(p))
	}
	return strings.Join(names, ", ")
}

// playAll plays the groups of a trial at once, as many as there are workers.
func playAll(ctx context.Context, plan *trial.Plan, workers int) ([]trial.Played, error) {
	if workers <= 0 {
		workers = runtime.GOMAXPROCS(0)
	}
	results := make([][]trial.Played, plan.Groups())
	failures := make([]error, plan.Groups())
	next := make(chan int)
	var done sync.WaitGroup
	for range workers {
		done.Go(func() {
			for g := range next {
				if failures[g] = ctx.Err(); failures[g] == nil {
					results[g], failures[g] = plan.Play(g)
				}
			}
		})
	}
	for g := range plan.Groups() {
		next <- g
	}
	close(next)
	done.Wait()
	var all []trial.Played
	for g := range results {
		if failures[g] != nil {
			return nil, failures[g]
		}
		all = append(all, results[g]...)
	}
	return all, nil
}

package main

import (
	"context"
	"runtime"
	"sync"

	"hornlark/audio/voice"
	"hornlark/drill"
	"hornlark/drill/aircraft"
	"hornlark/drill/bench/advice"
	"hornlark/drill/library"
	"hornlark/drill/procedure"
	"hornlark/drill/scenario"
	"hornlark/sounds"
)

// adviser gives advice on documents that are checked together. Each is tried by itself, so that they are tried side by side.
type adviser struct {
	lib   *library.Library            // with what is checked laid over it
	sound func() []*scenario.Scenario // those with which nothing is wrong

	speak func(string) string // a text as it is spoken; nil: as it is written

	mutex sync.Mutex
	flown map[[2]string]func() (advice.List, error) // of procedures, by their profiles' names and their own
}

// advise gives the advice on each of some documents. What is told has a place in its document, and is told there once.
func advise(ctx context.Context, lib *library.Library, checked []library.Checked, far *progress) ([][]advised, error) {
	a := &adviser{lib: lib, flown: map[[2]string]func() (advice.List, error){}}
	if lexicon, err := voice.LoadLexicon(sounds.Files, ""); err == nil {
		a.speak = lexicon.Speak
	}
	a.sound = sync.OnceValue(func() []*scenario.Scenario { return soundScenarios(lib) })
	lists := make([][]advised, len(checked))
	next, done := make(chan int), make(chan int)
	var all sync.WaitGroup
	for range min(runtime.GOMAXPROCS(0), len(checked)) {
		all.Go(func() {
			for i := range next {
				lists[i] = a.on(ctx, &checked[i])
				done <- i
			}
		})
	}
	go func() {
		for i := range checked {
			next <- i
		}
		close(next)
		all.Wait()
		close(done)
	}()
	n := 0
	for range done {
		n++
		far.at(n, len(checked))
	}
	return lists, context.Cause(ctx)
}

// on gives advice on a document. What cannot be tried, because something else is wrong with it, is not; that has been told.
func (a *adviser) on(ctx context.Context, c *library.Checked) []advised {
	var list advice.List
	add := func(more advice.List, err error) {
		if err == nil {
			list = append(list, more...)
		}
	}
	sound := len(c.Problems) == 0 && ctx.Err() == nil
	switch doc := c.Document.(type) {
	case *procedure.Procedure:
		add(advice.Written(doc, a.speak), nil)
		if prof, err := a.lib.Profile(doc.Profile); err == nil && sound {
			add(a.flowOf(ctx, prof, doc))
		}
	case *scenario.Scenario:
		if sound {
			add(a.scenario(ctx, doc))
		}
	case *scenario.Abnormal:
		if prof, err := a.lib.Profile(doc.Profile); err == nil && sound {
			occasions := advice.Occasions(prof, doc, a.sound(), a.lib.Procedures())
			add(advice.Abnormal(ctx, doc, occasions, a.lib.Procedures()))
		}
	}
	var out []advised
	for _, one := range list {
		if line, column, ok := c.Place(one.Path, one.Column); ok {
			out = append(out, advised{library.Problem{File: c.File, Line: line, Column: column}, one})
		}
	}
	inOrder(out)
	return out
}

// flowOf is the advice on going through a procedure on a profile, found once.
func (a *adviser) flowOf(ctx context.Context, prof *aircraft.Profile, proc *procedure.Procedure) (advice.List, error) {
	key := [2]string{prof.Name, proc.Name}
	a.mutex.Lock()
	of, known := a.flown[key]
	if !known {
		of = sync.OnceValues(func() (advice.List, error) {
			return advice.Flown(ctx, prof, proc, advice.Starts(prof, proc, a.sound()))
		})
		a.flown[key] = of
	}
	a.mutex.Unlock()
	return of()
}

// scenario is the advice on a scenario.
func (a *adviser) scenario(ctx context.Context, sc *scenario.Scenario) (advice.List, error) {
	b, err := a.lib.Resolve(sc.Name)
	if err != nil {
		return nil, err
	}
	known, err := a.flowOf(ctx, b.Profile, b.Procedure)
	if err != nil {
		known = nil // that is told of the procedure
	}
	return advice.Scenario(ctx, drill.Documents{Profile: b.Profile, Procedure: b.Procedure, Scenario: b.Scenario, Abnormals: b.Abnormals}, known)
}

// soundScenarios are those with which nothing is wrong.
func soundScenarios(lib *library.Library) []*scenario.Scenario {
	var list []*scenario.Scenario
	for _, sc := range lib.Scenarios() {
		if _, err := lib.Resolve(sc.Name); err == nil {
			list = append(list, sc)
		}
	}
	return list
}

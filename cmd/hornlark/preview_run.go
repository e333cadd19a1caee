package main

import (
	"context"
	"sync"
	"time"

	"hornlark/audio/voice"
	"hornlark/drill"
	"hornlark/drill/bench"
	"hornlark/drill/library"
)

// aheadOf is how many sittings may be done, for each worker, before the one whose turn it is: what is kept of them is little, and bounded.
const aheadOf = 8

// workedOn is a sitting that somebody works on.
type workedOn struct {
	sitting, person uint64
	done            chan struct{}
	result          *bench.Sitting
	err             error
}

// sitAll has all sittings sat, some at the same time, and hands each to take in the order of their numbers, from 0. It ends with the first
// error, and with the context.
func (p *preview) sitAll(ctx context.Context, runs int, take func(int, *bench.Sitting) error) error {
	return p.sitEach(ctx, runs, p.seeds, take)
}

// sitEach does the same with seeds of its own.
func (p *preview) sitEach(ctx context.Context, runs int, seeds func(i int) (sitting, person uint64), take func(int, *bench.Sitting) error) error {
	ctx, end := context.WithCancelCause(ctx)
	var busy sync.WaitGroup
	defer busy.Wait()
	defer end(nil)
	workers := min(p.workers, runs)
	work, turn := make(chan *workedOn), make(chan *workedOn, workers*aheadOf)
	busy.Go(func() {
		defer close(work)
		defer close(turn)
		for i := range runs {
			one := &workedOn{done: make(chan struct{})}
			one.sitting, one.person = seeds(i)
			select {
			case turn <- one:
			case <-ctx.Done():
				return
			}
			select {
			case work <- one:
			case <-ctx.Done():
				one.err = context.Cause(ctx)
				close(one.done)
				return
			}
		}
	})
	for range workers {
		busy.Go(func() {
			desk := p.Desk()
			for one := range work {
				one.result, one.err = desk.Sit(one.sitting, one.person, func() error { return context.Cause(ctx) })
				close(one.done)
			}
		})
	}
	i := 0
	for one := range turn {
		<-one.done
		if one.err != nil {
			return one.err
		}
		if err := take(i, one.result); err != nil {
			return err
		}
		i++
	}
	return context.Cause(ctx)
}

// lengthOfPhrases says how long the phrases of a scenario take. They are few, and asked for often, by several at the same time.
func lengthOfPhrases(b *library.Bundle) (drill.Length, error) {
	voices, err := voice.Open(voicesWith(b))
	if err != nil {
		return nil, err
	}
	type phrase struct {
		voice drill.Voice
		text  string
	}
	var known sync.Map
	return func(v drill.Voice, text string) time.Duration {
		key := phrase{v, text}
		if d, ok := known.Load(key); ok {
			return d.(time.Duration)
		}
		d := voices.Duration(string(v), text)
		known.Store(key, d)
		return d
	}, nil
}

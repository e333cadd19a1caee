package main

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"time"

	"hornlark/audio/voice"
	"hornlark/cmd/hornlark/desk"
	"hornlark/cmd/hornlark/screen"
	"hornlark/drill/record"
)

// runLive goes through the exercise on a terminal, or without one where answers are played. The sound may be being opened already;
// it is closed in any case.
func (o *drillOptions) runLive(ctx context.Context, ex *desk.Exercise, sound *opening) error {
	defer unhurried(ctx)()
	if sound == nil {
		var err error
		if sound, err = beginOpening(ctx, o); err != nil {
			return err
		}
	}
	records := desk.OpeningRecords()
	whose := o.keptFor()
	levels := &levels{settings: sound.settings}
	live, err := o.ready(ctx, ex, sound, func() string { return cmp.Or(levels.notice(), whose) })
	if err == nil && ctx.Err() != nil {
		err = errNotBegun
	}
	var keep *desk.Keeper
	if err == nil {
		keep, err = records()
	}
	if err != nil {
		return errors.Join(err, sound.close())
	}
	levels.sound = sound.Sound
	o.tellNews(keep)
	inputs := make(chan desk.Input, desk.InputsHeld)
	panel, err := o.openPanel(ctx, ex, levels, inputs)
	if err != nil {
		return errors.Join(err, keep.Close(), sound.close())
	}
	defer panel.close()
	if err := live.Begin(keep, func(began time.Time) record.Sitting { return o.record(ex, began) }); err != nil {
		return errors.Join(err, keep.Close(), sound.close())
	}
	o.tellNews(keep) // before there is a screen
	if !o.json {
		fmt.Fprintln(o.out, whose)
	}
	sound.begun = true
	err = o.drive(ctx, ex, live, levels, panel, inputs, sound.Voices)
	o.closeStation("the sitting is over")
	result := ex.Judge()
	kept := keep.End(ex, result)
	o.tellNews(keep)
	report := o.report(ex, live.Account(sound.settings.describe))
	if trouble := levels.kept(); trouble != nil {
		fmt.Fprintln(o.err, trouble)
	}
	if err = errors.Join(err, sound.close(), kept); err != nil {
		report.give()
		return err
	}
	if o.site != nil {
		given := report.give()
		o.site.report(ctx, report, result)
		return errors.Join(live.Why(), given)
	}
	panel.report(report, result)
	if o.terminal {
		report.show(ctx, result, keep.ID(), o.silent)
	}
	return errors.Join(live.Why(), report.give())
}

// ready makes the sitting, once the sound and the voices are there, and has what is still missing of these made. hint is what is told at
// first.
func (o *drillOptions) ready(ctx context.Context, ex *desk.Exercise, sound *opening, hint func() string) (*desk.Live, error) {
	if err := desk.CheckTones(ex.Profile); err != nil {
		return nil, err
	}
	if err := sound.Wait(ctx); err != nil {
		return nil, err
	}
	making := o.progress("making the voices ready")
	defer making.end()
	return desk.Ready(ctx, ex, desk.Means{
		Clock: desk.MachineClock{}, Sound: sound.Sound, Voices: sound.Voices, Silent: o.silent, Mute: o.silent && o.wav.path == "", Hint: hint,
	}, making.at)
}

// record is what the records are to know of a sitting that began then.
func (o *drillOptions) record(ex *desk.Exercise, began time.Time) record.Sitting {
	s := ex.Record()
	s.Trainee, s.Layout, s.Version = o.trainee, string(o.keyboard()), version
	s.Started, s.Moved = recordsTime(began), recordsMoved()
	return s
}

// tellNews says what is to be said about the records and has not been yet. On a screen that has to wait until it is gone.
func (o *drillOptions) tellNews(keep *desk.Keeper) {
	for _, news := range keep.News() {
		fmt.Fprintln(o.err, news)
	}
}

// drive takes the sitting to its end, on a screen if there is a terminal, on a panel if there is one, and with an instructor who has a station.
func (o *drillOptions) drive(ctx context.Context, ex *desk.Exercise, live *desk.Live, levels *levels, panel *panel, inputs chan desk.Input, voices *voice.Library) error {
	around := desk.Around{Inputs: inputs}
	if o.teaching != nil {
		o.teach(ex, voices, &around, inputs)
	}
	if panel != nil {
		around.Watchers = append(around.Watchers, panel)
		panel.Begin()
	}
	if !o.terminal {
		return live.Drive(ctx, around)
	}
	shown, err := screen.New(screen.Options{
		Profile: ex.Profile, Title: titleOf(ex.Bundle), Policy: ex.Policy(), Help: ex.Scenario.Map, Layout: o.keyboard(),
		Silent: o.silent, Level: levels.turn, Inputs: inputs,
	})
	if err != nil {
		return err
	}
	defer shown.Guard()
	ended := make(chan error, 1)
	go func() { ended <- shown.Run(ctx) }()
	around.Ended, around.Watchers = ended, append(around.Watchers, shown)
	err = live.Drive(ctx, around)
	shown.Stop()
	<-shown.Done()
	return err
}

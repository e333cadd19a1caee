package main

import (
	"context"
	"errors"
	"fmt"
	"os"

	"github.com/muesli/cancelreader"

	"hornlark/audio/voice"
	"hornlark/cmd/hornlark/desk"
	"hornlark/cmd/hornlark/web"
	"hornlark/drill/scenario"
)

// staffed reads the documents of the sitting, with all abnormals of its aircraft, so that an instructor can put in any of them.
func (o *drillOptions) staffed() error {
	b, err := o.bundle()
	if err != nil {
		return err
	}
	lib, err := openLibrary(o.own)
	if err != nil {
		return err
	}
	o.bundled = lib.Staffed(b)
	_, err = desk.NewExercise(o.bundled, scenario.PolicyName(o.policy), 0)
	return err
}

// openStation opens the instructor's station of a sitting, says where it is and what lets in there, and waits for the instructor, or for Enter
// where there is a terminal: what stands there is hidden as soon as the sitting has its screen.
func (o *drillOptions) openStation(ctx context.Context) error {
	station, err := web.OpenStation(ctx, o.station)
	if err != nil {
		return fmt.Errorf("--station: %w", err)
	}
	o.teaching = station
	door := station.Door()
	for _, address := range door.Addresses() {
		fmt.Fprintf(o.err, "The instructor's station is at %s\n", address)
	}
	fmt.Fprintf(o.err, "Its code, which works once, is %s\n", door.Code())
	if warning := door.Warning(); warning != "" {
		fmt.Fprintln(o.err, warning)
	}
	var begun <-chan error
	if in, is := o.in.(*os.File); is && o.terminal {
		line, stop := readLine(in)
		defer stop()
		begun = line
		fmt.Fprintln(o.err, "The sitting begins once the instructor is there. Enter begins it before that.")
	} else {
		fmt.Fprintln(o.err, "The sitting begins once the instructor is there.")
	}
	select {
	case <-door.Came():
	case err = <-begun:
	case <-ctx.Done():
		err = desk.NotBegun
	}
	if err != nil {
		o.closeStation("the sitting has not begun")
	}
	return err
}

// closeStation closes the station, if there is one.
func (o *drillOptions) closeStation(why string) {
	if o.teaching != nil {
		o.teaching.Close(why)
		o.teaching = nil
	}
}

// teach has the station go with a sitting that is about to begin.
func (o *drillOptions) teach(ex *desk.Exercise, voices *voice.Library, around *desk.Around, inputs chan<- desk.Input) {
	about := web.About{
		Ex: ex, Title: titleOf(ex.Bundle), Trainee: o.trainee, Names: namesOf(ex), Layout: o.keyboard(), Inputs: inputs,
	}
	if !o.silent || o.wav.path != "" {
		about.Voices = making{voices}
	}
	o.teaching.Attach(about)
	around.Instructor = o.teaching
}

// making has clips made one by one.
type making struct{ *voice.Library }

// Make makes one.
func (m making) Make(ctx context.Context, who, text string) {
	_ = m.Prepare(ctx, []voice.Phrase{{Voice: who, Text: text}}, nil) // what cannot be made is shown as text
}

// readLine waits for a line from a terminal; stop gives up, and takes nothing more from there.
func readLine(in *os.File) (line <-chan error, stop func()) {
	read := make(chan error, 1)
	r, err := cancelreader.NewReader(in)
	if err != nil {
		return read, func() {} // a terminal that cannot be waited for: the instructor begins it
	}
	gone := make(chan struct{})
	go func() {
		defer close(gone)
		defer r.Close()
		one := make([]byte, 1)
		for {
			n, err := r.Read(one)
			switch {
			case errors.Is(err, cancelreader.ErrCanceled):
				return
			case err != nil:
				read <- desk.NotBegun // the terminal has gone
				return
			case n == 1 && (one[0] == '\n' || one[0] == '\r'):
				read <- nil
				return
			}
		}
	}()
	return read, func() {
		if r.Cancel() {
			<-gone
		}
	}
}

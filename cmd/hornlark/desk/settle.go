package desk

import (
	"runtime/debug"
	"time"

	"hornlark/audio/tone"
	"hornlark/drill/aircraft"
	"hornlark/drill/library"
)

// What is left to be done once a sitting has begun, a little at a time: the sound has to be fed meanwhile.
const (
	tonesFrom   = 300 * time.Millisecond // after the beginning, when the first words are on their way
	tonesEvery  = 50 * time.Millisecond  // between two of them
	memoryAfter = 2 * time.Second        // that is given back
)

// How much memory there may be beyond what is used, %, before it is looked for what is not. With the usual 100 doing so took a fifth of
// the processor until the first words are heard; with 400 the program held 10 MB more meanwhile.
const (
	startingRoom = 200
	sittingRoom  = 40 // a sitting makes little that is thrown away
)

// Starting lets the program take memory while it makes a sitting ready, which is given back once that has begun.
func Starting() { debug.SetGCPercent(startingRoom) }

// settleIn makes the tones of the alerts, so that no horn has to wait for its own, and gives back the memory that reading the documents
// took, with those that the sitting does not use.
func settleIn(p *aircraft.Profile) {
	time.Sleep(tonesFrom)
	for i := range p.Alerts {
		tone.Named(p.Alerts[i].Tone) // that there are all of them has been looked at
		time.Sleep(tonesEvery)
	}
	time.Sleep(memoryAfter)
	debug.SetGCPercent(sittingRoom)
	library.Release()
	debug.FreeOSMemory()
}

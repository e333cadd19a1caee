//go:build !cgo && !darwin && !windows

package audio

import (
	"errors"
	"time"
)

func openSpeaker(time.Duration) (Sink, error) {
	return nil, errors.New("this build has no sound: build it with cgo and the ALSA headers (Debian: libasound2-dev) to hear it")
}

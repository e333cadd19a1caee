package tone

import (
	"testing"

	"hornlark/sounds"
)

// FuzzCheck: whatever stands in a file of tones, it is taken or refused.
func FuzzCheck(f *testing.F) {
	data, err := sounds.Files.ReadFile(sounds.Tones)
	if err != nil {
		f.Fatal(err)
	}
	f.Add(data)
	f.Add([]byte("timbres: {x: [{ratio: 1, gain: 0}]}\ntones:\n  a: {timbre: x, level: -10, length: 1s, notes: [{at: 0s, for: 1s, pitch: 400, rise: 20ms, fall: 20ms}]}\n"))
	f.Fuzz(func(t *testing.T, data []byte) { _ = Check(data) })
}

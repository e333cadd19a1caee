package tone

import (
	"testing"

	"hornlark/sounds"
)

// BenchmarkMake is what the tones of all alerts take, which a sitting has made while its first words are heard.
func BenchmarkMake(b *testing.B) {
	data, err := sounds.Files.ReadFile(sounds.Tones)
	if err != nil {
		b.Fatal(err)
	}
	for b.Loop() {
		s, err := load(data)
		if err != nil {
			b.Fatal(err)
		}
		for _, made := range s.sounds {
			made()
		}
	}
}

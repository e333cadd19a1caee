// Package sounds carries the sound files of the trainer: tones as data, spoken clips, and the words for them.
package sounds

import "embed"

// Files holds tones.yaml, lexicon.yaml, manifest.json and the folder clips.
//
//go:embed tones.yaml lexicon.yaml manifest.json all:clips
var Files embed.FS

// Names of the files.
const (
	Tones    = "tones.yaml"
	Lexicon  = "lexicon.yaml"
	Manifest = "manifest.json"
	Clips    = "clips" // folder
)

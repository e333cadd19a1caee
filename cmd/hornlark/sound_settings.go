package main

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"math"
	"os"
	"path/filepath"
	"slices"
	"time"

	"hornlark/audio"
	"hornlark/audio/voice"
	"hornlark/audio/whole"
	"hornlark/drill/library"
)

// Limits of what is kept about sound devices.
const (
	maxSettingsBytes = 1 << 20
	maxDevices       = 200
	maxLatency       = 2 * time.Second
)

// How the delay of a device became known.
const (
	byFigure = "given"
	byTaps   = "tapped"
)

// soundSettings is what the user has settled about the sound, kept in the folder for settings.
type soundSettings struct {
	BufferMS  int           `json:"buffer_ms,omitempty"`  // one of audio.Buffers; 0 for the default
	LevelDB   *float64      `json:"level_db,omitempty"`   // set in the sound check, above which no sitting goes: -audio.LevelRange to 0; nil for audio.DefaultLevel
	TurnedDB  float64       `json:"turned_db,omitempty"`  // from there, by the keys in a sitting: 0 or less
	VoiceRate float64       `json:"voice_rate,omitempty"` // % of the usual; 0 for 100
	Devices   []deviceDelay `json:"devices,omitempty"`
}

// deviceDelay is what one device adds to what it tells of itself.
type deviceDelay struct {
	Device    string  `json:"device"`
	LatencyMS float64 `json:"latency_ms"`
	How       string  `json:"how"`                 // byFigure or byTaps
	SpreadMS  float64 `json:"spread_ms,omitempty"` // of the taps
	Taps      int     `json:"taps,omitempty"`
}

// settingsPath is where the settings of the sound are kept.
func settingsPath() (string, error) {
	dir, err := os.UserConfigDir()
	if err != nil {
		return "", fmt.Errorf("there is no folder for settings: %w", err)
	}
	return filepath.Join(dir, "hornlark", "sound.json"), nil
}

// loadSoundSettings reads the settings. That there are none, or no place for them, is no error.
func loadSoundSettings() (*soundSettings, error) {
	var s soundSettings
	path, err := settingsPath()
	if err != nil {
		return &s, nil
	}
	data, err := readSettings(path)
	if errors.Is(err, fs.ErrNotExist) {
		return &s, nil
	}
	if err == nil {
		dec := json.NewDecoder(bytes.NewReader(data))
		dec.DisallowUnknownFields()
		if err = dec.Decode(&s); err == nil {
			err = s.check()
		}
	}
	if err != nil {
		return &soundSettings{}, fmt.Errorf("%s: %w; the sound goes without it: mend it or remove it", path, err)
	}
	return &s, nil
}

func readSettings(path string) ([]byte, error) {
	f, err := os.Open(path)
	if err != nil {
		return nil, err
	}
	defer f.Close()
	data, err := io.ReadAll(io.LimitReader(f, maxSettingsBytes+1))
	if err == nil && len(data) > maxSettingsBytes {
		err = fmt.Errorf("it is larger than %d bytes", maxSettingsBytes)
	}
	return data, err
}

func (s *soundSettings) check() error {
	if s.BufferMS != 0 && !slices.Contains(audio.Buffers(), time.Duration(s.BufferMS)*time.Millisecond) {
		return fmt.Errorf("a buffer of %d ms is not offered", s.BufferMS)
	}
	if err := checkSoundLevel(s.most()); err != nil {
		return err
	}
	if err := checkSoundLevel(s.TurnedDB); err != nil {
		return err
	}
	if s.VoiceRate != 0 {
		if err := checkVoiceRate(s.VoiceRate); err != nil {
			return err
		}
	}
	if len(s.Devices) > maxDevices {
		return fmt.Errorf("it has %d devices, and may have %d", len(s.Devices), maxDevices)
	}
	for _, d := range s.Devices {
		if err := checkLatency(d.LatencyMS); err != nil {
			return fmt.Errorf("%s: %w", d.Device, err)
		}
	}
	return nil
}

func checkSoundLevel(db float64) error {
	if !(db <= 0 && db >= -audio.LevelRange) {
		return fmt.Errorf("a level of %g dB is out of range; give %g to 0", db, -audio.LevelRange)
	}
	return nil
}

func checkVoiceRate(rate float64) error {
	if !(rate >= 50 && rate <= 200) {
		return fmt.Errorf("a voice rate of %g %% is out of range; give 50 to 200", rate)
	}
	return nil
}

func checkLatency(ms float64) error {
	if most := float64(maxLatency.Milliseconds()); !(ms >= 0 && ms <= most) {
		return fmt.Errorf("a delay of %g ms is out of range; give 0 to %g", ms, most)
	}
	return nil
}

// save writes the settings; the file is never seen half written.
func (s *soundSettings) save() error {
	path, err := settingsPath()
	if err != nil {
		return err
	}
	return saveSettings(path, s)
}

// saveSettings writes settings, for the user alone; the file is never seen half written.
func saveSettings(path string, settings any) error {
	body, err := json.MarshalIndent(settings, "", "  ")
	if err != nil {
		return err
	}
	if err := os.MkdirAll(filepath.Dir(path), 0o700); err != nil {
		return err
	}
	return whole.Write(path, append(body, '\n'), 0o600)
}

// of gives what is known of a device.
func (s *soundSettings) of(device string) (deviceDelay, bool) {
	i := slices.IndexFunc(s.Devices, func(d deviceDelay) bool { return d.Device == device })
	if i < 0 {
		return deviceDelay{}, false
	}
	return s.Devices[i], true
}

// put takes over what has become known of a device. The latest stands first; the oldest of too many go.
func (s *soundSettings) put(d deviceDelay) {
	s.Devices = slices.DeleteFunc(s.Devices, func(old deviceDelay) bool { return old.Device == d.Device })
	s.Devices = slices.Insert(s.Devices, 0, d)
	s.Devices = s.Devices[:min(len(s.Devices), maxDevices)]
}

// latency is for audio.Options.
func (s *soundSettings) latency(device string) time.Duration {
	d, _ := s.of(device)
	return time.Duration(math.Round(d.LatencyMS * float64(time.Millisecond)))
}

// options are those that the settings make for the sound.
func (s *soundSettings) options() audio.Options {
	return audio.Options{Buffer: time.Duration(s.BufferMS) * time.Millisecond, Level: s.most(), Latency: s.latency}
}

// most is the level that was set in the sound check: nothing in a sitting is louder than what was played there.
func (s *soundSettings) most() float64 {
	if s.LevelDB == nil {
		return audio.DefaultLevel
	}
	return *s.LevelDB
}

// level is the one that sittings begin with.
func (s *soundSettings) level() float64 { return max(s.most()+s.TurnedDB, -audio.LevelRange) }

// setLevel takes over the level of the sound check. What the keys have turned it by is forgotten.
func (s *soundSettings) setLevel(db float64) { s.LevelDB, s.TurnedDB = &db, 0 }

// openOutput opens the sound of a sitting, at its level.
func (s *soundSettings) openOutput(options audio.Options) (*audio.Output, error) {
	out, err := audio.Open(options)
	if err != nil {
		return nil, err
	}
	out.Turn(s.TurnedDB)
	return out, nil
}

// describe says what is known of a device, as part of a sentence; empty if nothing is.
func (s *soundSettings) describe(device string) string {
	d, known := s.of(device)
	switch {
	case !known:
		return ""
	case d.How == byTaps:
		return fmt.Sprintf("%.0f ms added by calibration (spread of the taps %.0f ms)", d.LatencyMS, d.SpreadMS)
	}
	return fmt.Sprintf("%.0f ms added as given", d.LatencyMS)
}

// voices are the options that the settings make for the voices, with the user's own lexicon.
func (s *soundSettings) voices() voice.Options {
	return voice.Options{Speed: s.VoiceRate / 100, Lexicon: userLexicon()}
}

// voicesOf are the same for a sitting, with what came with its course if it has one.
func (s *soundSettings) voicesOf(b *library.Bundle) voice.Options {
	options, came := s.voices(), voicesWith(b)
	options.Under, options.Clips = came.Under, came.Clips
	return options
}

// userLexicon is the user's own lexicon, or empty if there is none.
func userLexicon() string {
	settings, err := settingsPath()
	if err != nil {
		return ""
	}
	path := filepath.Join(filepath.Dir(settings), "lexicon.yaml")
	if _, err := os.Stat(path); err != nil {
		return ""
	}
	return path
}

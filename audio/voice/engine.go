package voice

import (
	"context"
	"errors"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"strings"

	"github.com/gopxl/beep/v2/wav"

	"hornlark/audio"
	"hornlark/audio/whole"
)

// engine is a speech program of the machine.
type engine interface {
	name() string
	recipe(voice string, speed float64) recipe
	// command says spoken into a WAV file. The words are also in the file at text.
	command(ctx context.Context, r recipe, spoken, text, wav string) *exec.Cmd
}

// NoEngine is in place of the name of one, for none.
const NoEngine = "none"

// engines are those that are known, in the order in which they are looked for.
var engines = []engine{flite{}, espeak{}, say{}, systemSpeech{}}

// Engines gives the names of the speech engines that are known, whether the machine has them or not.
func Engines() []string {
	names := make([]string, len(engines))
	for i, e := range engines {
		names[i] = e.name()
	}
	return names
}

// findEngine gives the engine that is asked for, or the first one that the machine has. If it has none, missing says
// what to do about it.
func findEngine(name string) (found engine, missing string, err error) {
	candidates, missing := engines[:2], "no speech engine was found; install flite or espeak-ng to hear them"
	switch runtime.GOOS {
	case "darwin":
		candidates, missing = []engine{say{}, flite{}, espeak{}}, "the speech program of the system (say) was not found"
	case "windows":
		candidates, missing = []engine{systemSpeech{}, espeak{}}, "the speech of the system (PowerShell) was not found"
	}
	if name == NoEngine {
		return nil, "speech is switched off", nil
	}
	if name != "" {
		candidates = nil
		for _, e := range engines {
			if e.name() == name {
				candidates = []engine{e}
			}
		}
		if candidates == nil {
			return nil, "", fmt.Errorf("voice: there is no speech engine %q; choose %s, %s", name, NoEngine, strings.Join(Engines(), ", "))
		}
		missing = name + " was not found; install it or choose another speech engine"
	}
	for _, e := range candidates {
		program := e.name()
		if program == (systemSpeech{}).name() {
			program = "powershell"
		}
		if _, err := exec.LookPath(program); err == nil {
			return e, "", nil
		}
	}
	return nil, missing, nil
}

// flite: a woman's voice challenges and a man's responds, so that an ear knows without words who spoke; the crew is another
// man. A recogniser that was not made for them understands all three.
type flite struct{}

func (flite) name() string { return "flite" }

func (flite) recipe(voice string, speed float64) recipe {
	return recipe{"flite", pick(voice, "slt", "awb", "rms"), speed}
}

func (flite) command(ctx context.Context, r recipe, spoken, _, wav string) *exec.Cmd {
	return exec.CommandContext(ctx, "flite", "-voice", r.voice, "--setf", fmt.Sprintf("duration_stretch=%.3f", 1/r.speed),
		"-t", spoken, "-o", wav)
}

type espeak struct{}

func (espeak) name() string { return "espeak-ng" }

func (espeak) recipe(voice string, speed float64) recipe {
	return recipe{"espeak-ng", pick(voice, "en-gb+f2", "en-gb", "en-us+m3"), speed}
}

func (espeak) command(ctx context.Context, r recipe, _, text, wav string) *exec.Cmd {
	return exec.CommandContext(ctx, "espeak-ng", "-v", r.voice, "-s", fmt.Sprint(int(WordsPerMinute*r.speed)), "-f", text, "-w", wav)
}

// say is the speech program of macOS.
type say struct{}

func (say) name() string { return "say" }

func (say) recipe(voice string, speed float64) recipe {
	return recipe{"say", pick(voice, "Samantha", "Daniel", "Alex"), speed}
}

func (say) command(ctx context.Context, r recipe, _, text, wav string) *exec.Cmd {
	return exec.CommandContext(ctx, "say", "-v", r.voice, "-r", fmt.Sprint(int(WordsPerMinute*r.speed)), "-f", text,
		"-o", wav, "--file-format=WAVE", "--data-format=LEI16@22050")
}

// systemSpeech is the speech that Windows carries in its .NET libraries.
type systemSpeech struct{}

func (systemSpeech) name() string { return "system-speech" }

func (systemSpeech) recipe(voice string, speed float64) recipe {
	return recipe{"system-speech", pick(voice, "Female", "Male", "Neutral"), speed}
}

func (systemSpeech) command(ctx context.Context, r recipe, _, text, wav string) *exec.Cmd {
	// The words and the paths come through the environment: nothing in them can be taken for a command.
	const script = `Add-Type -AssemblyName System.Speech; ` +
		`$s = New-Object System.Speech.Synthesis.SpeechSynthesizer; ` +
		`$s.SelectVoiceByHints($env:HORNLARK_VOICE); $s.Rate = [int]$env:HORNLARK_RATE; ` +
		`$s.SetOutputToWaveFile($env:HORNLARK_WAV); ` +
		`$s.Speak([IO.File]::ReadAllText($env:HORNLARK_TEXT)); $s.Dispose()`
	cmd := exec.CommandContext(ctx, "powershell", "-NoProfile", "-NonInteractive", "-Command", script)
	rate := int(10 * (r.speed - 1)) // -10 to 10 are a third to three times the speed, roughly
	cmd.Env = append(os.Environ(), "HORNLARK_VOICE="+r.voice, fmt.Sprintf("HORNLARK_RATE=%d", rate),
		"HORNLARK_WAV="+wav, "HORNLARK_TEXT="+text)
	return cmd
}

// pick gives an engine's voice for one of ours; whoever is not known is one of the crew.
func pick(voice, challenger, responder, crew string) string {
	switch voice {
	case Challenger:
		return challenger
	case Responder:
		return responder
	}
	return crew
}

// renderWith has an engine say something and makes a clip from it.
func renderWith(ctx context.Context, e engine, r recipe, spoken string) (audio.Sound, error) {
	dir, err := os.MkdirTemp("", "hornlark-voice-*")
	if err != nil {
		return audio.Sound{}, err
	}
	defer os.RemoveAll(dir)
	text, wave := filepath.Join(dir, "phrase.txt"), filepath.Join(dir, "phrase.wav")
	if err := whole.Write(text, []byte(spoken), 0o600); err != nil {
		return audio.Sound{}, err
	}
	if err := run(e.command(ctx, r, spoken, text, wave)); err != nil {
		return audio.Sound{}, err
	}
	x, rate, err := readWAV(wave)
	if err != nil {
		return audio.Sound{}, fmt.Errorf("%s: %w", e.name(), err)
	}
	return finish(x, rate)
}

// run runs a command and puts the first line that it complains with into the error.
func run(cmd *exec.Cmd) error {
	out, err := cmd.CombinedOutput()
	if err == nil {
		return nil
	}
	line, _, _ := strings.Cut(strings.TrimSpace(string(out)), "\n")
	if line != "" {
		return fmt.Errorf("%s: %w: %.200s", filepath.Base(cmd.Path), err, line)
	}
	return fmt.Errorf("%s: %w", filepath.Base(cmd.Path), err)
}

// readWAV gives the first channel of a file.
func readWAV(path string) (x []float64, rate int, err error) {
	f, err := os.Open(path)
	if err != nil {
		return nil, 0, errors.New("it wrote no sound")
	}
	defer f.Close()
	s, format, err := wav.Decode(f)
	if err != nil {
		return nil, 0, err
	}
	x, err = drain(s.Stream, 60*int(format.SampleRate))
	if err == nil {
		err = s.Err()
	}
	return x, int(format.SampleRate), err
}

// drain takes the left channel of a stream, at most so many frames.
func drain(stream func([][2]float64) (int, bool), most int) ([]float64, error) {
	var x []float64
	block := make([][2]float64, 4096)
	for {
		n, ok := stream(block)
		for _, v := range block[:n] {
			x = append(x, v[0])
		}
		if !ok || n == 0 {
			return x, nil
		}
		if len(x) > most {
			return nil, errors.New("the sound is too long")
		}
	}
}

package web

import (
	"bytes"
	"compress/gzip"
	"context"
	"crypto/sha256"
	"encoding/base64"
	"encoding/json"
	"errors"
	"io"
	"log"
	"math"
	"slices"
	"strconv"
	"strings"
	"sync"
	"testing"
	"time"

	codec "github.com/mewkiz/flac"
	"golang.org/x/net/html"

	"hornlark/audio"
	"hornlark/audio/tone"
	"hornlark/audio/voice"
	"hornlark/cmd/hornlark/desk"
	"hornlark/drill"
	"hornlark/drill/debrief"
	"hornlark/drill/drilltest/markup"
	"hornlark/drill/inert"
	"hornlark/drill/library"
	"hornlark/drill/logbook"
	"hornlark/drill/record"
	"hornlark/drill/scenario"
)

// clips are the built-in voices, which hold for all tests what was decoded for one.
var clips = sync.OnceValues(func() (*voice.Library, error) { return voice.Open(voice.Options{Engine: "none"}) })

// keptOf is a sitting of a built-in scenario, as the records give it, with more inputs between its own; nil: none.
func keptOf(t testing.TB, name string, answers *scenario.Answers, more func([]drill.Stored) []drill.Stored) *Reel {
	t.Helper()
	lib, err := library.Builtin()
	if err != nil {
		t.Fatal(err)
	}
	b, err := lib.Resolve(name)
	if err != nil {
		t.Fatal(err)
	}
	ex, err := desk.NewExercise(b, "", 7)
	if err != nil {
		t.Fatal(err)
	}
	ex.Answers = answers
	if err := ex.RunVirtual(t.Context(), desk.Virtual{}); err != nil {
		t.Fatal(err)
	}
	k := &desk.Kept{Sitting: record.Sitting{ID: 3, Version: "test", LogVersion: logbook.Version, State: record.Complete}, Ex: ex, Inputs: drill.InputsOf(ex.Log)}
	if more != nil {
		k.Inputs = more(k.Inputs)
		ex.Log = nil
		err := k.Begin().Replay(k.Inputs, k.Inputs[len(k.Inputs)-1].At, ex.Take)
		if err != nil {
			t.Fatal(err)
		}
	}
	voices, err := clips()
	if err != nil {
		t.Fatal(err)
	}
	result := ex.Judge()
	names := debrief.Names{Items: map[string]string{}, Phases: map[string]string{}}
	for _, phase := range ex.Procedure().Phases {
		names.Phases[phase.ID] = phase.Title
		for i := range phase.Items {
			names.Items[phase.Items[i].ID] = phase.Items[i].Challenge
		}
	}
	return &Reel{Kept: k, Result: result, Voices: voices, Head: debrief.Head{Scenario: name, Title: "A title", Policy: "alerts", Seed: 7, Names: names, Sound: "Sound."}}
}

// unpacked is what the script of a page is given.
func unpacked(t testing.TB, document *html.Node) (data reelData, sound []byte) {
	t.Helper()
	for n := range document.Descendants() {
		if n.Type != html.ElementNode || n.Data != "script" || markup.Attribute(n, "type") != "text/plain" {
			continue
		}
		body, err := base64.StdEncoding.DecodeString(markup.Text(n))
		if err != nil {
			t.Fatal(err)
		}
		if markup.Attribute(n, "id") == "reel-sound" {
			sound = body
			continue
		}
		z, err := gzip.NewReader(bytes.NewReader(body))
		if err != nil {
			t.Fatal(err)
		}
		if err := json.NewDecoder(z).Decode(&data); err != nil {
			t.Fatal(err)
		}
	}
	return data, sound
}

// The page needs nothing from elsewhere and lets nothing run but its own script; it is the same each time; it says the result, the caution, and
// everything that happened, in order; what its line of time has is what the log and the result have; and a trainee's name is a text.
func TestReelPage(t *testing.T) {
	const trainee = "Kim <script>alert(1)</script> & \u202e\"'"
	r := keptOf(t, "turnstone-alerts", &scenario.Answers{StartFrom: scenario.Perfect, Ignore: []string{"turnstone-tail"}}, func(in []drill.Stored) []drill.Stored {
		middle := in[len(in)/2].At
		out := slices.Clone(in[:len(in)/2])
		out = append(out, drill.Stored{At: middle, Event: drill.Instruct{Do: drill.Freeze}}, drill.Stored{At: middle + time.Minute, Event: drill.Instruct{Do: drill.Release}})
		for _, x := range in[len(in)/2:] {
			out = append(out, drill.Stored{At: x.At + time.Minute, Event: x.Event})
		}
		return out
	})
	r.Head.Trainee = trainee
	var out, again bytes.Buffer
	for _, to := range []io.Writer{&out, &again} {
		if err := r.Write(t.Context(), to); err != nil {
			t.Fatal(err)
		}
	}
	if !bytes.Equal(out.Bytes(), again.Bytes()) {
		t.Error("twice the same sitting is not the same page")
	}
	document, err := html.Parse(bytes.NewReader(out.Bytes()))
	if err != nil {
		t.Fatal(err)
	}
	closedIn(t, document)
	markup.Headings(t, "reel", document)
	text := markup.Text(document)
	for _, want := range []string{inert.Line(trainee), debrief.Caution, debrief.Verdict(r.Result), "Sound."} {
		if !strings.Contains(text, want) {
			t.Errorf("the page does not say %q", want)
		}
	}
	data, sound := unpacked(t, document)
	if len(sound) == 0 || data.Length != wholeMS(lengthOf(r)) {
		t.Errorf("%d bytes of sound, %d ms long; the log has %v", len(sound), data.Length, lengthOf(r))
	}
	slips := momentsOf(t, document)
	if len(slips) != len(data.Lanes.Slips) || len(slips) < len(r.Result.Order.Deviations) || len(slips) == 0 {
		t.Errorf("%d errors are listed and %d marked; of departures alone there are %d", len(slips), len(data.Lanes.Slips), len(r.Result.Order.Deviations))
	}
	abnormals := 0
	for i := range r.Kept.Ex.Log {
		e := &r.Kept.Ex.Log[i]
		if e.Kind != logbook.Onset {
			continue
		}
		if abnormals >= len(data.Lanes.Abnormals) || data.Lanes.Abnormals[abnormals].From != wholeMS(e.At) {
			t.Fatalf("the onset of %s is not on the line of time: %+v", e.Injection, data.Lanes.Abnormals)
		}
		abnormals++
	}
	if abnormals == 0 || abnormals != len(data.Lanes.Abnormals) {
		t.Errorf("%d abnormals in the log, %d on the line of time", abnormals, len(data.Lanes.Abnormals))
	}
	if len(data.Lanes.Acts) != len(r.Result.Instructed) || len(data.Lanes.Acts) == 0 {
		t.Errorf("%d acts of the instructor on the line of time, %d in the result", len(data.Lanes.Acts), len(r.Result.Instructed))
	}
}

// lengthOf is the running time of a sitting by its log.
func lengthOf(r *Reel) time.Duration { return r.Kept.Ex.Log[len(r.Kept.Ex.Log)-1].At }

// closedIn sees to it that a page asks for nothing and that its policy lets run and show what is in it alone.
func closedIn(t testing.TB, document *html.Node) {
	t.Helper()
	policy, seen := "", ""
	for n := range document.Descendants() {
		if n.Type != html.ElementNode {
			continue
		}
		switch n.Data {
		case "meta":
			if markup.Attribute(n, "http-equiv") == "Content-Security-Policy" {
				policy = markup.Attribute(n, "content")
			}
		case "style":
			sum := sha256.Sum256([]byte(markup.Text(n)))
			seen += "; style-src 'sha256-" + base64.StdEncoding.EncodeToString(sum[:]) + "'"
			if text := markup.Text(n); strings.Contains(text, "url(") || strings.Contains(text, "@import") {
				t.Error("the style asks for something")
			}
		case "script":
			if policy == "" {
				t.Error("the policy stands below what it is about")
			}
			if kind := markup.Attribute(n, "type"); kind == "module" {
				sum := sha256.Sum256([]byte(markup.Text(n)))
				seen = "; script-src 'sha256-" + base64.StdEncoding.EncodeToString(sum[:]) + "'" + seen
			} else if kind != "text/plain" {
				t.Errorf("a script of type %q", kind)
			}
		case "link", "img", "iframe", "object", "embed", "base", "form", "a", "audio", "video":
			t.Errorf("the page has an element %s", n.Data)
		}
		for _, a := range n.Attr {
			if a.Key == "src" || a.Key == "href" || a.Key == "style" || strings.HasPrefix(a.Key, "on") {
				t.Errorf("%s has %s=%q", n.Data, a.Key, a.Val)
			}
		}
	}
	if want := "default-src 'none'" + seen + "; media-src blob:; base-uri 'none'; form-action 'none'"; policy != want {
		t.Errorf("the policy is\n%s\nand what is in the page has\n%s", policy, want)
	}
}

// momentsOf reads the list of what happened, which is in order, and gives its errors.
func momentsOf(t testing.TB, document *html.Node) (slips []string) {
	t.Helper()
	before, found := 0, 0
	for n := range document.Descendants() {
		if n.Type != html.ElementNode || n.Data != "button" || markup.Attribute(n, "data-at") == "" {
			continue
		}
		at, err := strconv.Atoi(markup.Attribute(n, "data-at"))
		if err != nil || at < before {
			t.Errorf("a moment at %q follows one at %d", markup.Attribute(n, "data-at"), before)
		}
		before = at
		if found++; strings.Contains(markup.Attribute(n.Parent, "class"), "error") {
			slips = append(slips, markup.Text(n))
		}
	}
	if found < 10 {
		t.Errorf("%d moments", found)
	}
	return slips
}

// A context that ends, ends it.
func TestReelStops(t *testing.T) {
	r := keptOf(t, "piston-start-busy", &scenario.Answers{StartFrom: scenario.Perfect}, nil)
	stopped := errors.New("stopped")
	ctx, cancel := context.WithCancelCause(t.Context())
	r.Progress = func(at, _ time.Duration) {
		if at > 5*time.Second {
			cancel(stopped)
		}
	}
	if err := r.Write(ctx, io.Discard); !errors.Is(err, stopped) {
		t.Errorf("it gave %v", err)
	}
}

// decoded are the frames of a FLAC file.
func decoded(t testing.TB, sound []byte) []float64 {
	t.Helper()
	log.SetOutput(io.Discard) // the reader tells it of every rate that its own tests do not have
	s, err := codec.New(bytes.NewReader(sound))
	if err != nil {
		t.Fatal(err)
	}
	var pcm []float64
	for {
		f, err := s.ParseNext()
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil {
			t.Fatal(err)
		}
		for _, v := range f.Subframes[0].Samples {
			pcm = append(pcm, float64(v)/32768)
		}
	}
	if s.Info.NSamples != uint64(len(pcm)) {
		t.Errorf("the head says %d frames, and there are %d", s.Info.NSamples, len(pcm))
	}
	return pcm
}

// Every alert is in the sound at the frame at which the log has it, pauses left out, and sounds like its tone at the level of a sitting: what is
// taken from there correlates with the tone, and less where it is shifted.
func TestReelSound(t *testing.T) {
	const held = 40 * time.Second
	r := keptOf(t, "turnstone-alerts", &scenario.Answers{StartFrom: scenario.Perfect}, func(in []drill.Stored) []drill.Stored {
		out := []drill.Stored{{At: time.Second, Event: drill.Press{Key: drill.Hold}}, {At: time.Second + held, Event: drill.Press{Key: drill.Hold}}}
		for _, x := range in {
			if h, ok := x.Event.(drill.Heard); ok {
				h.Onset += held
				if h.End > 0 {
					h.End += held
				}
				x.Event = h
			}
			if x.At += held; x.At > time.Second+held {
				out = append(out, x)
			}
		}
		return out
	})
	face := NewFace(r.Kept.Ex.Profile, "", scenario.Names)
	tape, err := Record(r.Kept.Begin(), face, r.Kept.Inputs, r.Kept.Lasted(), nil)
	if err != nil {
		t.Fatal(err)
	}
	sound, err := SoundOf(t.Context(), r.Kept, tape, r.Voices, nil)
	if err != nil {
		t.Fatal(err)
	}
	pcm := decoded(t, sound)
	if want := int(audio.Frames(tape.Length+desk.Tail)+1) / 2; len(pcm) != want {
		t.Errorf("%d frames, want %d", len(pcm), want)
	}
	peak := 0.0
	for _, v := range pcm {
		peak = max(peak, math.Abs(v))
	}
	if most := math.Pow(10, audio.DefaultLevel/20); peak > most || peak < most/8 {
		t.Errorf("its loudest moment is %.4f, and the level %.4f", peak, most)
	}
	alerts, all := 0, r.Kept.Sounded(tape.Heard)
	for n, c := range all {
		o, ok := c.Output.(drill.Sound)
		if !ok {
			continue
		}
		alerts++
		whole, err := tone.Named(o.Tone)
		if err != nil {
			t.Fatal(err)
		}
		var want []float64
		for i := 0; i < min(len(whole.PCM), audio.Rate/2); i += 2 {
			want = append(want, float64(whole.PCM[i]))
		}
		at := int(audio.Frames(tape.Running(c.At)) / 2)
		here, best := correlation(pcm[at:], want), 0
		for shift := -480; shift <= 480; shift += 4 {
			if at+shift >= 0 && correlation(pcm[at+shift:], want) > here+0.01 {
				best = shift
			}
		}
		least := 0.95
		for k, other := range all {
			if k != n && other.At < c.At+time.Second && (other.Until == 0 || other.Until > c.At) && other.At > c.At-5*time.Second {
				least = 0.3 // more than one is heard
			}
		}
		if here < least || best != 0 {
			t.Errorf("%s at %v: it correlates by %.3f, and better %d frames from there", o.Alert, tape.Running(c.At), here, best)
		}
	}
	if alerts < 3 {
		t.Errorf("%d alerts were looked for", alerts)
	}
}

// correlation is how alike a sound is to another, from -1 to 1.
func correlation(pcm, want []float64) float64 {
	var xy, xx, yy float64
	for i := range min(len(pcm), len(want)) {
		xy, xx, yy = xy+pcm[i]*want[i], xx+pcm[i]*pcm[i], yy+want[i]*want[i]
	}
	if xx == 0 || yy == 0 {
		return 0
	}
	return xy / math.Sqrt(xx*yy)
}

// What half of the frames can hold comes through as it was and when it was; what they cannot hold does not.
func TestHalf(t *testing.T) {
	for _, hz := range []float64{300, 1000, 4000, 8000, 16000, 20000} {
		pcm := make([]int16, 9600)
		for i := range pcm {
			pcm[i] = int16(8000 * math.Sin(2*math.Pi*hz*float64(i)/audio.Rate))
		}
		var h halver
		var out []int16
		for i := 0; i < len(pcm); i += 479 {
			out = append(out, h.take(pcm[i:min(i+479, len(pcm))])...)
		}
		worst := 0.0
		for i := 100; i < len(out); i++ {
			want := 0.0
			if hz < 12000 {
				want = float64(pcm[2*i])
			}
			worst = max(worst, math.Abs(float64(out[i])-want))
		}
		if worst > 12 {
			t.Errorf("%g Hz is off by %g of 8000", hz, worst)
		}
	}
}

// Sittings that went otherwise than most: whatever was kept of them is shown, and what cannot be known is said.
func TestReelOfOddSittings(t *testing.T) {
	short := func(in []drill.Stored) []drill.Stored {
		n := slices.IndexFunc(in, func(s drill.Stored) bool { return s.At > 12*time.Second })
		return slices.Clone(in[:n])
	}
	then := func(in []drill.Stored, events ...drill.Event) []drill.Stored {
		at := in[len(in)-1].At
		for _, e := range events {
			at += 700 * time.Millisecond
			in = append(in, drill.Stored{At: at, Event: e})
		}
		return in
	}
	for name, c := range map[string]struct {
		more  func([]drill.Stored) []drill.Stored
		spoil func(*Reel)
		says  string // somewhere on the page
		wants func(*Lanes) bool
	}{
		"held and left": {more: func(in []drill.Stored) []drill.Stored { return then(short(in), drill.Press{Key: drill.Hold}) }, says: "the sitting is held"},
		"jumped": {more: func(in []drill.Stored) []drill.Stored {
			return then(short(in), drill.Jumped{By: time.Hour}, drill.Press{Key: drill.Hold}, drill.Press{Key: "z"})
		}, says: "the clock jumped by 3600.0 s"},
		"ended early": {more: func(in []drill.Stored) []drill.Stored { return then(short(in), drill.Stop{Why: "enough"}) }, says: "enough"},
		"set back": {more: func(in []drill.Stored) []drill.Stored {
			return then(short(in), drill.Instruct{Do: drill.SetBack, What: "cockpit"}, drill.Press{Key: "z"})
		}, says: "set back to", wants: func(l *Lanes) bool { return len(l.Acts) == 1 }},
		"nothing happened": {more: func(in []drill.Stored) []drill.Stored { return in[:1] }},
		"killed": {more: short, spoil: func(r *Reel) {
			r.Kept.State, r.Kept.Ex.Log = record.Unended, r.Kept.Ex.Log[:len(r.Kept.Ex.Log)/2]
		}},
		"an earlier form": {more: short, spoil: func(r *Reel) { r.Kept.LogVersion-- }, says: "in an earlier form of the log"},
		"another trainer": {more: short, spoil: func(r *Reel) {
			r.Kept.Ex.Log = slices.Clone(r.Kept.Ex.Log)
			r.Kept.Ex.Log[5].Text += "?"
		}, says: "does not go through the sitting as it was kept"},
		"not heard": {more: func(in []drill.Stored) []drill.Stored {
			in = short(in)
			for i := range in {
				if h, ok := in[i].Event.(drill.Heard); ok {
					h.Why = logbook.Muted
					in[i].Event = h
				}
			}
			return in
		}, says: "or, where nobody can have heard it, at which it would have been"},
	} {
		r := keptOf(t, "piston-start-busy", &scenario.Answers{StartFrom: scenario.Perfect}, c.more)
		if c.spoil != nil {
			c.spoil(r)
			r.Result = r.Kept.Ex.Judge()
		}
		var out bytes.Buffer
		if err := r.Write(t.Context(), &out); err != nil {
			t.Errorf("%s: %v", name, err)
			continue
		}
		document, err := html.Parse(&out)
		if err != nil {
			t.Fatal(err)
		}
		if text := markup.Text(document); !strings.Contains(text, c.says) {
			t.Errorf("%s: the page does not say %q", name, c.says)
		}
		data, sound := unpacked(t, document)
		if len(sound) == 0 || data.Strip == nil || len(data.Strip.Grid) == 0 {
			t.Errorf("%s: the page has no sound, or nothing to be seen", name)
		}
		if c.wants != nil && !c.wants(data.Lanes) {
			t.Errorf("%s: the line of time has %+v", name, data.Lanes)
		}
	}
}

package main

import (
	"bytes"
	"context"
	"encoding/binary"
	"encoding/json"
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/chromedp"

	"hornlark/audio"
	"hornlark/audio/soundtest"
	"hornlark/cmd/hornlark/desk"
	"hornlark/cmd/hornlark/web"
	"hornlark/drill"
	"hornlark/drill/record"
	"hornlark/drill/scenario"
)

// reelOf keeps a sitting without a clock and writes it as a page that moves. It gives the address of the page, and the sitting.
func reelOf(t *testing.T, name string, answers *scenario.Answers) (address string, kept *desk.Kept) {
	t.Helper()
	data := t.TempDir()
	one := made{data: data, scenario: name, trainee: "kim", version: "test", started: time.Now(), answers: answers}
	if err := one.keep(); err != nil {
		t.Fatal(err)
	}
	t.Setenv("HORNLARK_DATA", data)
	path := filepath.Join(t.TempDir(), "reel.html")
	if status, said := saidBy("debrief", "1", "--reel", path); status != exitPassed || said != "" {
		t.Fatalf("status %d: %s", status, said)
	}
	store, err := record.Open(filepath.Join(data, "hornlark.db"))
	if err != nil {
		t.Fatal(err)
	}
	defer store.Close()
	k, err := keptBy(store, []string{"1"})
	if err != nil {
		t.Fatal(err)
	}
	return "file://" + path, k.Kept
}

// The page shows what a panel showed, at times of chance; its policy lets nothing in; the browser makes the same sound of it; and it is
// played, sought, dragged and gone through by keys.
func TestAReelInABrowser(t *testing.T) {
	if testing.Short() || runtime.GOOS == "windows" {
		t.Skip("it takes a browser")
	}
	address, k := reelOf(t, "turnstone-alerts", &scenario.Answers{StartFrom: scenario.Perfect, Ignore: []string{"turnstone-tail"}})
	ctx := browser(t, 1280, 800, chromedp.Flag("autoplay-policy", "no-user-gesture-required"))
	if err := chromedp.Do(ctx, chromedp.Navigate(address), until("globalThis.reel !== undefined"), shot("reel")); err != nil {
		t.Fatal(err)
	}
	compareScenes(t, ctx, k)
	judgedByOthers(t, ctx, strings.TrimPrefix(address, "file://"))

	// What is not in its policy does nothing: a script beside its own, a style, anything from elsewhere.
	refused := evaluate[bool](t, ctx, `new Promise((done) => {
		let refusals = 0;
		addEventListener("securitypolicyviolation", () => { if (++refusals === 4) done(!globalThis.slipped); });
		const script = document.createElement("script");
		script.textContent = "globalThis.slipped = true";
		const style = document.createElement("style");
		style.textContent = "body { display: none }";
		const image = new Image();
		image.src = "http://127.0.0.1:1/x.png";
		document.head.append(script, style);
		fetch("http://127.0.0.1:1/").catch(() => 0);
		setTimeout(() => done(false), 5000);
	})`)
	if !refused {
		t.Error("the page lets something in")
	}

	// The sound, as the browser decodes it.
	length := evaluate[float64](t, ctx, `(async () => {
		const bytes = Uint8Array.from(atob(document.getElementById("reel-sound").textContent), (c) => c.charCodeAt(0));
		globalThis.decoded = await new OfflineAudioContext(1, 1, 24000).decodeAudioData(bytes.buffer);
		return decoded.duration;
	})()`)
	if want := (k.Lasted() + desk.Tail).Seconds(); math.Abs(length-want) > 0.001 {
		t.Errorf("the browser has %g s of sound, want %g", length, want)
	}
	again, err := k.Again()
	if err != nil {
		t.Fatal(err)
	}
	var over time.Duration
	cues := 0
	for _, c := range k.Sounded(again.Heard) {
		clicks := slices.ContainsFunc(k.Inputs, func(in drill.Stored) bool {
			_, press := in.Event.(drill.Press)
			return press && in.At <= c.At && in.At > c.At-200*time.Millisecond
		})
		if c.At > over && !clicks {
			cues++
			began := evaluate[float64](t, ctx, fmt.Sprintf(`(() => {
				const pcm = decoded.getChannelData(0);
				const from = Math.round(%g * 24000);
				for (let i = from - 2400; i < from + 24000; i++) if (Math.abs(pcm[i]) > 2e-4) return i / 24000;
				return -1;
			})()`, c.At.Seconds()))
			if off := began - c.At.Seconds(); off < -0.001 || off > 0.02 {
				t.Errorf("%s begins %.4f s off", c.Output.Describe(), off)
			}
		}
		over = max(over, c.At+5*time.Second)
	}
	if cues < 3 {
		t.Errorf("%d cues were looked for", cues)
	}

	// It is gone through: an error by its line, a place by a click, steps by keys, and it plays on by the sound's own time.
	at := func() float64 { return evaluate[float64](t, ctx, "reel.at") }
	first := evaluate[float64](t, ctx, "reel.errors[0]")
	if err := chromedp.Do(ctx, chromedp.Click("#moments .error button")); err != nil {
		t.Fatal(err)
	}
	if got := at(); got != max(0, first-3000) {
		t.Errorf("the first error is at %g, and its line leads to %g", first, got)
	}
	evaluate[bool](t, ctx, `document.getElementById("timeline").focus(), true`)
	if err := chromedp.Do(ctx, chromedp.KeyEvent(" ")); err != nil {
		t.Fatal(err)
	}
	if err := chromedp.Do(ctx, until(fmt.Sprintf("reel.playing && reel.at > %g", first-2500))); err != nil {
		t.Fatal(err)
	}
	drift := evaluate[float64](t, ctx, "reel.audio.currentTime * 1000 - reel.at")
	if err := chromedp.Do(ctx, chromedp.KeyEvent(" ")); err != nil {
		t.Fatal(err)
	}
	if math.Abs(drift) > 100 || evaluate[bool](t, ctx, "reel.playing") {
		t.Errorf("the panel is %g ms behind the sound, or it plays on", drift)
	}
	dragged := evaluate[[]float64](t, ctx, `(() => {
		const line = document.getElementById("timeline");
		const box = line.getBoundingClientRect();
		const go = (type, x) => line.dispatchEvent(new PointerEvent(type, { pointerId: 1, clientX: box.left + x, clientY: box.top + 60, bubbles: true }));
		line.setPointerCapture = () => {};
		const out = [];
		go("pointerdown", 400); out.push(reel.at, reel.line.time(400));
		go("pointermove", 700); out.push(reel.at, reel.line.time(700));
		go("pointerup", 700); go("pointermove", 300); out.push(reel.at, reel.line.time(700));
		return out;
	})()`)
	for i := 0; i < len(dragged); i += 2 {
		if math.Abs(dragged[i]-dragged[i+1]) > 1 {
			t.Errorf("dragged to %v", dragged)
		}
	}
}

// evaluate is what an expression comes to on the page.
func evaluate[T any](t *testing.T, ctx context.Context, expression string) T {
	t.Helper()
	v, err := chromedp.Run(ctx, chromedp.Evaluate[T](expression, chromedp.EvalAwaitPromise))
	if err != nil {
		t.Fatalf("%.80s: %v", expression, err)
	}
	return v
}

// judgedByOthers has the page looked at by validators of others: html-validate for what it is written in, axe-core for whether everybody can use it.
func judgedByOthers(t *testing.T, ctx context.Context, path string) {
	t.Helper()
	modules := os.Getenv("HORNLARK_NODE_MODULES")
	axe, err := os.ReadFile(filepath.Join(modules, "axe-core", "axe.min.js"))
	node, missing := exec.LookPath("node")
	if modules == "" || err != nil || missing != nil {
		t.Log("nobody else judged the page: take dist/validators away, and scripts/install brings those who do")
		return
	}
	if out, err := exec.CommandContext(ctx, node, filepath.Join(modules, "html-validate", "bin", "html-validate.mjs"), path).CombinedOutput(); err != nil {
		t.Errorf("html-validate: %v\n%s", err, out)
	}
	found := evaluate[[]string](t, ctx, string(axe)+`;
		reel.seek(reel.errors[0]);
		document.getElementById("figures").open = true;
		axe.run().then(({ violations }) => violations.map((v) => v.id + ": " + v.nodes.map((n) => n.target.join(" ")).join(", ")))`)
	for _, v := range found {
		t.Errorf("axe-core: %s", v)
	}
}

// compareScenes goes through the sitting once more and looks at it and at the page at times of chance.
func compareScenes(t *testing.T, ctx context.Context, k *desk.Kept) {
	t.Helper()
	rng := rand.New(rand.NewPCG(5, 6))
	var times []int64
	for range 200 {
		times = append(times, rng.Int64N(k.Lasted().Milliseconds()))
	}
	slices.Sort(times)
	list, err := json.Marshal(times)
	if err != nil {
		t.Fatal(err)
	}
	shown := evaluate[[]map[string]any](t, ctx, fmt.Sprintf("%s.map((at) => reel.strip.scene(at))", list))
	face := web.NewFace(k.Ex.Profile, "", scenario.Names)
	sitting, scene, inputs := k.Begin(), web.NewScene(face), k.Inputs
	var view drill.View
	for i, ms := range times {
		at := time.Duration(ms) * time.Millisecond
		for len(inputs) > 0 && inputs[0].At <= at {
			if err := sitting.Input(inputs[0].At, inputs[0].Event); err != nil {
				t.Fatal(err)
			}
			inputs = inputs[1:]
		}
		if err := sitting.Advance(at); err != nil {
			t.Fatal(err)
		}
		sitting.View(&view)
		scene.Fill(&view)
		scene.FillSaid(&view, drill.SaidLines)
		var want map[string]any
		if err := json.Unmarshal(scene.JSON(), &want); err != nil {
			t.Fatal(err)
		}
		got := shown[i]
		for n, v := range want["readings"].([]any) {
			if have := got["readings"].([]any)[n].(float64); math.Abs(have-v.(float64)) > math.Pow10(-face.Gauges[n].Decimals)/3+0.001 {
				t.Fatalf("at %d ms %s is %g on the page and %g in the sitting", ms, face.Gauges[n].ID, have, v)
			}
		}
		delete(want, "readings")
		delete(got, "readings")
		if said, ok := got["said"].([]any); ok && len(said) == 0 {
			delete(got, "said")
		}
		a, _ := json.Marshal(got)
		b, _ := json.Marshal(want)
		if string(a) != string(b) {
			t.Fatalf("at %d ms the page has\n%s\nand the sitting\n%s", ms, a, b)
		}
	}
}

// TestAReelIsHeardAsItIsSeen plays a page on a sound server and records what comes out: it is what the sitting sounded like, and each half
// second of it is heard when the page shows its time. It takes half a minute, so HORNLARK_REEL asks for it.
func TestAReelIsHeardAsItIsSeen(t *testing.T) {
	if os.Getenv("HORNLARK_REEL") == "" {
		t.Skip("it plays for half a minute; HORNLARK_REEL=1 asks for it")
	}
	server := soundtest.Start(t)
	address, _ := reelOf(t, "turnstone-alerts", &scenario.Answers{StartFrom: scenario.Perfect})
	var env []string
	for _, v := range server.Env() {
		if strings.HasPrefix(v, "PULSE") {
			env = append(env, v)
		}
	}
	ctx := browser(t, 1280, 800, chromedp.Flag("autoplay-policy", "no-user-gesture-required"), chromedp.Flag("mute-audio", false), chromedp.Env(env...))
	if err := chromedp.Do(ctx, chromedp.Navigate(address), until("globalThis.reel !== undefined")); err != nil {
		t.Fatal(err)
	}
	recorder := server.Record(t)
	const from, long = 24000.0, 36 * time.Second
	evaluate[bool](t, ctx, fmt.Sprintf(`(() => {
		globalThis.seen = [];
		reel.seek(%g);
		const look = () => { seen.push([performance.timeOrigin + performance.now(), reel.at]); requestAnimationFrame(look); };
		requestAnimationFrame(look);
		reel.play();
		return true;
	})()`, from))
	time.Sleep(long)
	seen := evaluate[[][]float64](t, ctx, "seen")
	recording := recorder.Stop(t)
	wav := filepath.Join(t.TempDir(), "sitting.wav")
	if status, said := saidBy("replay", "1", "--wav", wav); status != exitPassed {
		t.Fatalf("status %d: %s", status, said)
	}
	want, got := loudEach(readPCM(t, wav)), loudEach(recording.Samples)
	var off []float64
	for ms := from + 1000; ms < from+float64(long.Milliseconds())-1500; ms += 500 {
		part := want[int(ms) : int(ms)+500]
		if sum(part) == 0 {
			continue
		}
		wall, ok := wallOf(seen, ms)
		if !ok {
			continue
		}
		middle := recording.SampleAt(time.UnixMicro(int64(wall*1000))) / (audio.Rate / 1000)
		best, at := 0.0, 0
		for lag := -300; lag <= 300; lag++ {
			if i := middle + lag; i >= 0 && i+len(part) <= len(got) {
				if like := alike(part, got[i:i+len(part)]); like > best {
					best, at = like, lag
				}
			}
		}
		if best > 0.95 {
			off = append(off, float64(at))
		}
	}
	slices.Sort(off)
	t.Logf("%d half seconds with sound, heard after they were seen by (ms): %.0f", len(off), off)
	if len(off) < 8 {
		t.Fatalf("%d were found in the recording", len(off))
	}
	if late := off[len(off)/2]; math.Abs(late) > 50 {
		t.Errorf("the sound is %g ms behind the panel", late)
	}
	if spread := off[len(off)*9/10] - off[len(off)/10]; spread > 20 {
		t.Errorf("they scatter by %g ms", spread)
	}
}

// readPCM is what a WAV file of our own holds behind its head.
func readPCM(t *testing.T, path string) []int16 {
	t.Helper()
	body, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	pcm := make([]int16, (len(body)-44)/2)
	if err := binary.Read(bytes.NewReader(body[44:]), binary.LittleEndian, pcm); err != nil {
		t.Fatal(err)
	}
	return pcm
}

// loudEach is how loud each millisecond is.
func loudEach[T int16 | float32](pcm []T) []float64 {
	const each = audio.Rate / 1000
	out := make([]float64, len(pcm)/each)
	for i := range out {
		for _, v := range pcm[i*each : (i+1)*each] {
			out[i] += math.Abs(float64(v))
		}
	}
	return out
}

func sum(x []float64) (s float64) {
	for _, v := range x {
		s += v
	}
	return s
}

// alike is the correlation of two stretches about their means.
func alike(a, b []float64) float64 {
	ma, mb := sum(a)/float64(len(a)), sum(b)/float64(len(b))
	var ab, aa, bb float64
	for i := range a {
		x, y := a[i]-ma, b[i]-mb
		ab, aa, bb = ab+x*y, aa+x*x, bb+y*y
	}
	if aa == 0 || bb == 0 {
		return 0
	}
	return ab / math.Sqrt(aa*bb)
}

// wallOf is when the page showed a time, in ms since 1970.
func wallOf(seen [][]float64, ms float64) (float64, bool) {
	for i := 1; i < len(seen); i++ {
		a, b := seen[i-1], seen[i]
		if a[1] <= ms && b[1] > ms && b[1]-a[1] < 200 {
			return a[0] + (b[0]-a[0])*(ms-a[1])/(b[1]-a[1]), true
		}
	}
	return 0, false
}

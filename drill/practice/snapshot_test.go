package practice

import (
	"bytes"
	"errors"
	"fmt"
	"reflect"
	"testing"
	"time"

	"pgregory.net/rapid"

	"hornlark/drill/score"
)

// drawnCourse is some sittings by chance.
func drawnCourse(r *rapid.T) []Sitting {
	list := make([]Sitting, rapid.IntRange(0, 12).Draw(r, "sittings"))
	at := time.Unix(0, day0.UnixNano())
	for i := range list {
		at = at.Add(time.Duration(rapid.Int64Range(0, int64(90*24*time.Hour)).Draw(r, "later")))
		list[i] = Sitting{Began: at, Procedure: rapid.SampledFrom([]string{"p", "q"}).Draw(r, "procedure"), Profile: "a"}
		for range rapid.IntRange(0, 6).Draw(r, "trials") {
			trial := drawnTrial(r)
			trial.Name = rapid.SampledFrom([]string{"battery", "pump", "beacon"}).Draw(r, "name")
			trial.Kind = rapid.SampledFrom([]score.TrialKind{score.TrialItem, score.TrialNotice}).Draw(r, "kind")
			list[i].Trials = append(list[i].Trials, trial)
		}
	}
	return list
}

// A snapshot comes back to the bit, and what is learnt after it is what would have been learnt without it.
func TestSnapshots(t *testing.T) {
	rapid.Check(t, func(r *rapid.T) {
		course := drawnCourse(r)
		cut := rapid.IntRange(0, len(course)).Draw(r, "cut")
		through, before := NewKnown(DefaultWeights), NewKnown(DefaultWeights)
		for i := range course {
			through.Learn(&course[i])
			if i < cut {
				before.Learn(&course[i])
			}
		}
		packed := (&Snapshot{Known: before, Rules: 6, Sittings: [32]byte{1, 31: 2}}).Pack()
		back, err := UnpackSnapshot(packed)
		if err != nil || back.Rules != 6 || back.Sittings != [32]byte{1, 31: 2} || !reflect.DeepEqual(back.Known, before) {
			r.Fatalf("%+v came back as %+v, %v", before, back, err)
		}
		if !bytes.Equal(back.Pack(), packed) {
			r.Fatal("packed again it is not the same")
		}
		for i := cut; i < len(course); i++ {
			back.Known.Learn(&course[i])
		}
		if !reflect.DeepEqual(back.Known, through) {
			r.Fatalf("cut at %d of %d it comes to %+v, in one go to %+v", cut, len(course), back.Known, through)
		}
		spoilt := bytes.Clone(packed)
		spoilt[rapid.IntRange(0, len(spoilt)-1).Draw(r, "at")] ^= 1 << rapid.IntRange(0, 7).Draw(r, "bit")
		if _, err := UnpackSnapshot(spoilt); !errors.Is(err, ErrSnapshot) {
			r.Fatalf("with one bit changed: %v, want %v", err, ErrSnapshot)
		}
		if _, err := UnpackSnapshot(packed[:rapid.IntRange(0, len(packed)-1).Draw(r, "short")]); !errors.Is(err, ErrSnapshot) {
			r.Fatalf("cut short: %v, want %v", err, ErrSnapshot)
		}
	})
}

// Whatever a state or what is known gets as a field has to be in the snapshot.
func TestEveryFieldIsInTheSnapshot(t *testing.T) {
	n := 0
	var fill func(v reflect.Value)
	fill = func(v reflect.Value) {
		n++
		switch v.Kind() {
		case reflect.String:
			v.SetString(fmt.Sprint("text", n))
		case reflect.Bool:
			v.SetBool(true)
		case reflect.Int:
			v.SetInt(int64(n))
		case reflect.Uint8:
			v.SetUint(uint64(n % 256))
		case reflect.Float64:
			v.SetFloat(float64(n) + 0.1)
		case reflect.Slice:
			v.Set(reflect.MakeSlice(v.Type(), 3, 3))
			fill(v.Index(1))
		case reflect.Array:
			for i := range v.Len() {
				fill(v.Index(i))
			}
		case reflect.Pointer:
			v.Set(reflect.New(v.Type().Elem()))
			fill(v.Elem())
		case reflect.Map:
			key, value := reflect.New(v.Type().Key()).Elem(), reflect.New(v.Type().Elem()).Elem()
			fill(key)
			fill(value)
			v.Set(reflect.MakeMap(v.Type()))
			v.SetMapIndex(key, value)
		case reflect.Struct:
			if v.Type() == reflect.TypeFor[time.Time]() {
				v.Set(reflect.ValueOf(time.Unix(int64(n), 5)))
				return
			}
			for i := range v.NumField() {
				fill(v.Field(i))
			}
		default:
			t.Fatalf("nobody packs a %s", v.Type())
		}
	}
	var want Snapshot
	fill(reflect.ValueOf(&want).Elem())
	if got, err := UnpackSnapshot(want.Pack()); err != nil || !reflect.DeepEqual(got, &want) {
		t.Errorf("%+v of %+v came back as %+v, %v", want, want.Known, got, err)
	}
}

// What a course leaves behind by Model: one that comes to something else is another model, and snapshots of before do not hold. The
// figures are those of this program.
func TestModelIsWhatItWas(t *testing.T) {
	k := NewKnown(PublishedWeights)
	for i, trial := range []score.Trial{{Right: true, Told: true}, {Right: true}, {Right: true, Slow: true}, {}, {Right: true, ReactionMS: ms(400), ParMS: 2000}} {
		trial.Kind, trial.Name = score.TrialItem, "battery"
		k.Learn(&Sitting{Began: day0.AddDate(0, 0, i*i), Procedure: "p", Trials: []score.Trial{trial}})
	}
	st := k.States[Thing{score.TrialItem, "p", "battery"}]
	got := fmt.Sprintf("model %d: %.4f %.4f", Model, st.Stability, st.Difficulty)
	if want := "model 2: 10.7190 7.6625"; got != want {
		t.Errorf("%s, want %s: raise Model", got, want)
	}
}

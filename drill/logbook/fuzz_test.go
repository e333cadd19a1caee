package logbook

import (
	"encoding/json"
	"errors"
	"math"
	"testing"
)

// FuzzConvert: whatever is said to be an entry, of whatever version, it is read or refused; and what is read is an entry of today.
func FuzzConvert(f *testing.F) {
	for _, seed := range []string{
		`{"seq":1,"at":0,"kind":"begin","text":"first-start","name":"prompted","number":2,"seed":"7"}`, `{"seq":2,"at":20000000,"kind":"press","seat":"trainee","key":"shift+a"}`,
		`{"seq":3,"at":1,"kind":"heard","cue":1,"onset":60,"until":99,"why":"assumed"}`, `{"kind":"peak","name":"tot1","value":1e400}`, `{"kind":"peak","text":"highest (value +Inf)"}`,
		`{"kind":"unpaused","text":"1m3s"}`, `{"kind":"begin","text":"x","value":-1}`, `[]`, `{}`, `null`, `{"kind":"crew"}`, `{"kind":"early"}`, `{"seq":1}{}`, `{"at":9223372036854775807,"kind":"end"}`,
	} {
		for version := range uint8(3) {
			f.Add(version, []byte(seed))
		}
	}
	f.Fuzz(func(t *testing.T, version uint8, body []byte) {
		e, err := Convert(int(version%4), body)
		if err != nil {
			if err.Error() == "" {
				t.Error("an error without words")
			}
			return
		}
		if err := e.known(); err != nil {
			t.Errorf("%s became %+v: %v", body, e, err)
		}
		_ = e.Describe()
		if math.IsInf(e.Value, 0) || math.IsNaN(e.Value) {
			return // only version 1 has such a reading, and JSON does not
		}
		again, err := json.Marshal(e)
		if err != nil {
			t.Fatalf("%s became %+v: %v", body, e, err)
		}
		if back, err := Convert(Version, again); err != nil || back != e {
			t.Errorf("%s came back as %+v, %v", again, back, err)
		}
	})
}

// FuzzConvertLog: the same of whole logs.
func FuzzConvertLog(f *testing.F) {
	f.Add(uint8(2), []byte(`{"seq":1,"kind":"begin","number":2}`), []byte(`{"seq":2,"kind":"end"}`))
	f.Add(uint8(1), []byte(`{"seq":1,"kind":"begin","text":"x"}`), []byte(`{"seq":2,"kind":"early"}`))
	f.Fuzz(func(t *testing.T, version uint8, first, second []byte) {
		log, err := ConvertLog(int(version%4), [][]byte{first, second})
		if errors.Is(err, nil) {
			var clock Clock
			for i := range log {
				clock.Follow(&log[i])
			}
		}
	})
}

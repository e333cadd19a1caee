package record

import (
	"bytes"
	"database/sql"
	"encoding/json"
	"errors"
	"testing"
)

// errBack ends a transaction of a test so that nothing of it is kept.
var errBack = errors.New("nothing is kept")

// FuzzImport cuts a piece out of an export and puts something else there: it is taken in or refused, whole, with what is wrong and a
// place in the file, and what was there before is as it was.
func FuzzImport(f *testing.F) {
	from, to := open(f, fresh(f)), open(f, fresh(f))
	keep(f, from, "kim", judged, 4)
	keep(f, from, "", judged, 1)
	keep(f, to, "kim", judged, 1)
	body := export(f, from)
	before := export(f, to)
	for i, piece := range []string{"", "null", "1e999", `"\u202e"`, "[]", "{}", "\xff", "-1", `"at_ns":9223372036854775807`, "}]}", "{\"format\":", "\x00"} {
		f.Add(uint32(i*977), uint16(i*7), piece)
	}
	n := 0
	f.Fuzz(func(t *testing.T, at uint32, cut uint16, piece string) {
		start := int(at) % (len(body) + 1)
		end := min(len(body), start+int(cut))
		text := string(body[:start]) + piece + string(body[end:])
		err := to.write(func(tx *sql.Tx) error {
			im := importer{checks: anything, plans: map[string]json.RawMessage{}, stored: map[string]bool{}, dec: json.NewDecoder(bytes.NewReader([]byte(text))), tx: tx}
			im.dec.DisallowUnknownFields()
			if err := im.file(); err != nil {
				return err
			}
			for _, refused := range im.imported.Refused {
				if refused.Error() == "" || refused.Offset < 0 || refused.Offset > int64(len(text)) {
					t.Errorf("%+v", refused)
				}
			}
			return errBack
		})
		var wrong *ImportError
		switch {
		case errors.Is(err, errBack):
		case !errors.As(err, &wrong):
			t.Errorf("it is no fault of the file: %v", err)
		case wrong.Error() == "" || wrong.Offset < 0 || wrong.Offset > int64(len(text)):
			t.Errorf("%+v", wrong)
		}
		if n++; n%500 == 0 && !bytes.Equal(export(t, to), before) {
			t.Fatal("what was there is not as it was")
		}
	})
}

package record

import (
	"bytes"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// Documents are known by their hash. A journal keeps them to the byte, whatever signs they have; and one of an earlier version, which wrote
// some as escapes, gives them back.
func TestJournalKeepsDocuments(t *testing.T) {
	documents := []byte(`{"when":"nr < 95 && oat > 5","title":"<b>","line":"a\u2028b"}`)
	for _, earlier := range []bool{false, true} {
		path := fresh(t)
		s := open(t, path)
		sitting := example()
		sitting.Documents, sitting.Plan = documents, HashOf(documents)
		w, err := s.Begin(sitting)
		if err != nil {
			t.Fatal(err)
		}
		w.Append(entry(1))
		w.writeJournal()
		w.Abandon()
		s.Close()
		os.Remove(path)
		os.Remove(path + "-wal")
		if names, _ := filepath.Glob(filepath.Join(filepath.Dir(path), "unsaved", "*"+journalSuffix)); len(names) != 1 {
			t.Fatal(names)
		} else if earlier {
			body, err := os.ReadFile(names[0])
			if err != nil {
				t.Fatal(err)
			}
			for sign, escape := range map[string]string{"<": `\u003c`, ">": `\u003e`, "&": `\u0026`} {
				body = bytes.ReplaceAll(body, []byte(sign), []byte(escape))
			}
			if err := os.WriteFile(names[0], body, 0o600); err != nil {
				t.Fatal(err)
			}
		}
		s = open(t, path)
		if got, err := s.Documents(sitting.Plan); err != nil || HashOf(got) != sitting.Plan {
			t.Errorf("earlier %v: %q, %v; notices %q", earlier, got, err, s.Notices())
		}
		s.Close()
	}
}

// Noise in the middle of documents, which SQLite does not notice, is found when they are read or come again, and is damage: those of a
// journal take their place, and so do those of the next sitting that goes by them.
func TestDamagedDocuments(t *testing.T) {
	documents := []byte(`{"title":"` + strings.Repeat("a long one, ", 5000) + `"}`)
	sitting := example()
	sitting.Documents, sitting.Plan = documents, HashOf(documents)
	spoilt := func(t *testing.T) (path string) {
		path = fresh(t)
		s := open(t, path)
		w, err := s.Begin(sitting)
		if err != nil {
			t.Fatal(err)
		}
		w.Append(entry(1))
		if err := w.End([]byte("{}"), false, Digest{}); err != nil {
			t.Fatal(err)
		}
		if _, err := s.db.Exec("PRAGMA wal_checkpoint(TRUNCATE)"); err != nil {
			t.Fatal(err)
		}
		s.Close()
		body, err := os.ReadFile(path)
		if err != nil {
			t.Fatal(err)
		}
		noisy := bytes.Replace(body, []byte("one, a long one"), []byte("one, a lnog one"), 1)
		if bytes.Equal(noisy, body) {
			t.Fatal("the documents are not in the file")
		}
		if err := os.WriteFile(path, noisy, 0o600); err != nil {
			t.Fatal(err)
		}
		return path
	}
	told := func(t *testing.T, s *Store) {
		if notices := s.Notices(); len(notices) != 1 || !strings.Contains(notices[0], "documents are not those that they are kept as") && !strings.Contains(notices[0], "were damaged (the documents: ") {
			t.Errorf("told: %q", notices)
		}
	}
	t.Run("read", func(t *testing.T) {
		s := open(t, spoilt(t))
		if got, err := s.Documents(sitting.Plan); err != nil || got != nil {
			t.Errorf("%.40q, %v", got, err)
		}
		told(t, s)
	})
	t.Run("come again", func(t *testing.T) {
		s := open(t, spoilt(t))
		w, err := s.Begin(sitting)
		if err != nil {
			t.Fatal(err)
		}
		if err := w.End([]byte("{}"), false, Digest{}); err != nil {
			t.Fatal(err)
		}
		if got, err := s.Documents(sitting.Plan); err != nil || !bytes.Equal(got, documents) {
			t.Errorf("%.40q, %v", got, err)
		}
		told(t, s)
		if found, err := s.Sittings(Filter{}); err != nil || len(found) != 2 {
			t.Errorf("%d sittings, %v", len(found), err)
		}
	})
}

package sound

import (
	"strings"
	"unicode"
)

// Pronounce gives a text in letters of the International Phonetic Alphabet, by rules for English spelling: broadly, and right for most
// words of a cockpit, as they are spoken in Britain: an r is heard before a vowel only. Diphthongs are two letters, as in nejm. Single capital letters, and words without a vowel, are spelt. The rules are our
// own; pronounced.txt in testdata holds them to a speech engine.
func Pronounce(text string) string {
	var out strings.Builder
	for _, word := range strings.FieldsFunc(text, func(r rune) bool { return !unicode.IsLetter(r) && !unicode.IsDigit(r) }) {
		out.WriteString(british(pronounce(strings.ToLower(word))))
	}
	return out.String()
}

// british leaves out an r that no vowel follows.
func british(ipa string) string {
	row := []rune(ipa)
	var out strings.Builder
	for i, r := range row {
		if r == 'ɹ' && (i == len(row)-1 || !segments[row[i+1]].syllabic) {
			continue
		}
		out.WriteRune(r)
	}
	return out.String()
}

// names are those of letters and digits.
var names = map[rune]string{
	'a': "ej", 'b': "bij", 'c': "sij", 'd': "dij", 'e': "ij", 'f': "ɛf", 'g': "dʒij", 'h': "ejtʃ", 'i': "aj", 'j': "dʒej", 'k': "kej", 'l': "ɛl", 'm': "ɛm",
	'n': "ɛn", 'o': "ow", 'p': "pij", 'q': "kjuw", 'r': "aɹ", 's': "ɛs", 't': "tij", 'u': "juw", 'v': "vij", 'w': "dəbəljuw", 'x': "ɛks", 'y': "waj", 'z': "zɛd",
	'0': "zijɹow", '1': "wən", '2': "tuw", '3': "θɹij", '4': "fɔɹ", '5': "fajv", '6': "siks", '7': "sɛvən", '8': "ejt", '9': "najn",
}

// odd are words that the rules have wrong, and that panels have.
var odd = map[string]string{
	"one": "wən", "two": "tuw", "eight": "ejt", "above": "əbəv", "anti": "ænti", "bleed": "blijd", "break": "bɹejk", "busses": "bəsiz", "circuit": "səɹkit", "door": "dɔɹ",
	"doors": "dɔɹz", "engine": "ɛndʒin", "engines": "ɛndʒinz", "four": "fɔɹ", "gauge": "gejdʒ", "gauges": "gejdʒiz", "gear": "giɹ", "get": "gɛt", "give": "giv", "guard": "gaɹd",
	"head": "hɛd", "header": "hɛdə", "heavy": "hɛvij", "cover": "kəvə", "hover": "hɒvə", "meter": "mijtə", "over": "owvə", "area": "ɛɹijə", "horizon": "həɹajzən", "idle": "ajdəl", "island": "ajlənd", "level": "lɛvəl", "lever": "lijvə", "levers": "lijvəz", "live": "lajv", "magneto": "mægnijtow",
	"mixture": "mikstʃə", "move": "muwv", "of": "ɒv", "oxygen": "ɒksidʒən", "pilot": "pajlət", "pitot": "pijtow", "pressure": "pɹɛʃəɹ", "ready": "ɹɛdij", "rotor": "ɹowtəɹ", "said": "sɛd",
	"seven": "sɛvən", "static": "stætik", "the": "ðə", "to": "tuw", "torque": "tɔɹk", "tyre": "tajəɹ", "valve": "vælv", "volume": "vɒljuwm", "weather": "wɛðəɹ", "you": "juw", "zero": "zijɹow",
}

const vowels = "aeiouy"

func isVowel(c byte) bool { return strings.IndexByte(vowels, c) >= 0 }

// pronounce gives a word of small letters.
func pronounce(word string) string {
	if ipa, ok := odd[word]; ok {
		return ipa
	}
	if len([]rune(word)) == 1 || !strings.ContainsAny(word, vowels) {
		return spelt(word)
	}
	var out strings.Builder
	for i := 0; i < len(word); {
		r, ok := ruleAt(word, i)
		if !ok {
			out.WriteString(spelt(firstRune(word[i:])))
			i += len(firstRune(word[i:]))
			continue
		}
		out.WriteString(r.sound)
		i += len(r.letters)
	}
	return out.String()
}

func firstRune(s string) string { return string([]rune(s)[:1]) }

// spelt is a word letter by letter. What has no name is silent.
func spelt(word string) string {
	var out strings.Builder
	for _, r := range word {
		out.WriteString(names[r])
	}
	return out.String()
}

// rule says how some letters are spoken where they stand.
type rule struct {
	letters string
	where   func(before, after string) bool // nil: anywhere
	sound   string
}

// ruleAt is the first rule that speaks for what begins at a place in a word.
func ruleAt(word string, i int) (rule, bool) {
	for _, r := range rules[word[i]] {
		if strings.HasPrefix(word[i:], r.letters) && (r.where == nil || r.where(word[:i], word[i+len(r.letters):])) {
			return r, true
		}
	}
	return rule{}, false
}

// The places in a word that rules speak of.
func first(before, _ string) bool { return before == "" }
func last(_, after string) bool   { return after == "" }
func inside(before, after string) bool {
	return before != "" && after != ""
}

// lone is at the end of a word that has no other vowel.
func lone(before, after string) bool { return after == "" && !strings.ContainsAny(before, vowels) }

// silent is at the end of a word that has another vowel, also before its s.
func silent(before, after string) bool {
	return strings.ContainsAny(before, vowels) && (after == "" || after == "s")
}

// lengthened is before one consonant and an e that is silent: after it the word is over, or goes on with what is put to it.
func lengthened(_, after string) bool {
	if len(after) < 2 || isVowel(after[0]) || after[0] == 'x' {
		return false
	}
	rest, ok := strings.CutPrefix(after[1:], "e")
	return ok && (rest == "" || rest == "s" || rest == "d" || rest == "r" || rest == "rs")
}

// beforeConsonant is where a consonant or the end follows.
func beforeConsonant(_, after string) bool { return after == "" || !isVowel(after[0]) }

// soft is before e, i or y.
func soft(_, after string) bool { return after != "" && strings.IndexByte("eiy", after[0]) >= 0 }

// between is between two vowels.
func between(before, after string) bool {
	return before != "" && after != "" && isVowel(before[len(before)-1]) && isVowel(after[0])
}

// voicedEnd is at the end, after a vowel or a voiced consonant.
func voicedEnd(before, after string) bool {
	return after == "" && len(before) > 1 && strings.IndexByte("aeiouybdglmnrvw", before[len(before)-1]) >= 0
}

// pastEnd is at the end of a past form that has another vowel and in which the e is silent.
func pastEnd(before, after string) bool {
	return after == "" && strings.ContainsAny(before, vowels) && !strings.HasSuffix(before, "t") && !strings.HasSuffix(before, "d")
}

// rules are by the first letter; the first that speaks for a place counts.
var rules = func() map[byte][]rule {
	by := map[byte][]rule{}
	for _, r := range []rule{
		{"augh", nil, "ɔ"}, {"ation", nil, "ejʃən"}, {"ator", last, "ejtəɹ"}, {"age", last, "idʒ"}, {"ange", nil, "ejndʒ"}, {"able", last, "əbəl"}, {"air", nil, "ɛɹ"}, {"are", last, "ɛɹ"},
		{"all", nil, "ɔl"}, {"alk", nil, "ɔk"}, {"alt", nil, "ɔlt"}, {"ai", nil, "ej"}, {"ay", nil, "ej"}, {"au", nil, "ɔ"}, {"aw", nil, "ɔ"}, {"ar", beforeConsonant, "aɹ"},
		{"al", last, "əl"}, {"a", lengthened, "ej"}, {"a", last, "ə"}, {"a", nil, "æ"},

		{"eigh", nil, "ej"}, {"ear", nil, "iɹ"}, {"eer", nil, "iɹ"}, {"ea", nil, "ij"}, {"ee", nil, "ij"}, {"ei", nil, "ij"}, {"eu", nil, "juw"}, {"ew", nil, "juw"}, {"ey", last, "ij"},
		{"ed", pastEnd, "d"}, {"er", beforeConsonant, "əɹ"}, {"e", silent, ""}, {"e", lone, "ij"}, {"e", func(before, after string) bool { return lengthened(before, after) && !strings.Contains(after, "er") }, "ij"}, {"e", nil, "ɛ"},

		{"igh", nil, "aj"}, {"ign", last, "ajn"}, {"ire", last, "ajəɹ"}, {"ind", last, "ajnd"}, {"ile", last, "ajl"}, {"ic", last, "ik"}, {"ical", nil, "ikəl"}, {"ive", last, "iv"},
		{"ing", last, "iŋ"}, {"ies", last, "ijz"}, {"ie", last, "aj"}, {"ie", nil, "ij"}, {"ir", beforeConsonant, "əɹ"}, {"i", lengthened, "aj"}, {"io", inside, "ijə"}, {"ia", nil, "ijə"}, {"i", nil, "i"},

		{"ough", nil, "ɔ"}, {"ould", nil, "ud"}, {"ought", nil, "ɔt"}, {"our", last, "aəɹ"}, {"ous", last, "əs"}, {"oar", nil, "ɔɹ"}, {"old", nil, "owld"}, {"olt", nil, "owlt"}, {"oor", nil, "ɔɹ"},
		{"ower", nil, "awəɹ"}, {"own", last, "awn"}, {"oa", nil, "ow"}, {"ook", nil, "uk"}, {"oo", nil, "uw"}, {"ou", nil, "aw"}, {"ow", last, "ow"}, {"ow", nil, "aw"}, {"oi", nil, "oj"}, {"oy", nil, "oj"},
		{"ore", last, "ɔɹ"}, {"or", func(before, after string) bool { return after == "" && strings.ContainsAny(before, vowels) }, "əɹ"}, {"or", beforeConsonant, "ɔɹ"},
		{"on", func(before, after string) bool { return after == "" && strings.ContainsAny(before, vowels) }, "ən"},
		{"o", lengthened, "ow"}, {"o", last, "ow"}, {"o", nil, "ɒ"},

		{"ure", last, "jəɹ"}, {"ur", beforeConsonant, "əɹ"}, {"ui", nil, "uw"}, {"ue", last, "uw"}, {"uel", last, "juwəl"}, {"ull", nil, "ul"}, {"u", lengthened, "uw"}, {"u", last, "uw"}, {"u", nil, "ə"},

		{"y", first, "j"}, {"y", lone, "aj"}, {"y", last, "ij"}, {"y", lengthened, "aj"}, {"y", func(before, _ string) bool { return before == "h" || before == "c" }, "aj"}, {"y", nil, "i"},

		{"bb", nil, "b"}, {"b", nil, "b"}, {"cial", last, "ʃəl"}, {"ck", nil, "k"}, {"ch", func(_, after string) bool { return strings.HasPrefix(after, "n") || strings.HasPrefix(after, "r") }, "k"},
		{"ch", nil, "tʃ"}, {"cc", soft, "ks"}, {"cc", nil, "k"}, {"c", soft, "s"}, {"c", nil, "k"}, {"dge", nil, "dʒ"}, {"dd", nil, "d"}, {"d", nil, "d"}, {"ff", nil, "f"}, {"f", nil, "f"},
		{"gh", nil, ""}, {"gn", first, "n"}, {"gg", nil, "g"}, {"g", soft, "dʒ"}, {"gu", func(_, after string) bool { return soft("", after) }, "g"}, {"g", nil, "g"}, {"h", nil, "h"},
		{"j", nil, "dʒ"}, {"kn", first, "n"}, {"k", nil, "k"}, {"le", func(before, after string) bool { return silent(before, after) && !isVowel(before[len(before)-1]) }, "əl"}, {"ll", nil, "l"}, {"l", nil, "l"},
		{"mb", last, "m"}, {"mm", nil, "m"}, {"m", nil, "m"}, {"nge", last, "ndʒ"}, {"ng", beforeConsonant, "ŋ"}, {"nk", nil, "ŋk"}, {"nn", nil, "n"}, {"n", nil, "n"},
		{"ph", nil, "f"}, {"pp", nil, "p"}, {"p", nil, "p"}, {"que", last, "k"}, {"qu", nil, "kw"}, {"q", nil, "k"}, {"rh", nil, "ɹ"}, {"rr", nil, "ɹ"}, {"r", nil, "ɹ"},
		{"sch", nil, "sk"}, {"sc", soft, "s"}, {"sh", nil, "ʃ"}, {"sion", nil, "ʃən"}, {"ssion", nil, "ʃən"}, {"ssure", nil, "ʃəɹ"}, {"ss", nil, "s"}, {"s", between, "z"}, {"s", voicedEnd, "z"}, {"s", nil, "s"},
		{"tch", nil, "tʃ"}, {"tion", nil, "ʃən"}, {"tial", last, "ʃəl"}, {"ture", nil, "tʃəɹ"}, {"th", nil, "θ"}, {"tt", nil, "t"}, {"t", nil, "t"}, {"v", nil, "v"},
		{"wh", nil, "w"}, {"wr", first, "ɹ"}, {"war", nil, "wɔɹ"}, {"wa", func(_, after string) bool {
			return !lengthened("", after) && !strings.HasPrefix(after, "y") && !strings.HasPrefix(after, "i")
		}, "wɒ"},
		{"w", nil, "w"}, {"x", first, "z"}, {"x", nil, "ks"}, {"zz", nil, "z"}, {"z", nil, "z"},
	} {
		by[r.letters[0]] = append(by[r.letters[0]], r)
	}
	return by
}()

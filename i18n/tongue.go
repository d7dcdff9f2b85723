package i18n

import (
	"fmt"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"time"
	"unicode"

	goi18n "github.com/nicksnyder/go-i18n/v2/i18n"
	"github.com/nicksnyder/go-i18n/v2/i18n/template"
	"golang.org/x/text/cases"
	"golang.org/x/text/language"
	"golang.org/x/text/message"
	"golang.org/x/text/number"

	"quietwater/model"
)

// tongue says things in one language.
type tongue struct {
	cat     *catalogue
	tag     string // of the texts
	asked   language.Tag
	texts   []*goi18n.Localizer // its own, then the English for what it lacks
	decimal string              // sign of the language and region
	units   map[string]string   // signs of units that are not printed in Latin letters
}

func newTongue(c *catalogue, folder string, asked language.Tag) (*tongue, error) {
	t := &tongue{cat: c, tag: folder, asked: asked, decimal: decimalSign(asked), units: map[string]string{}}
	for pair := range slices.Chunk(strings.Fields(c.says(folder, "language.units")), 2) {
		if len(pair) == 2 {
			t.units[pair[0]] = strings.ReplaceAll(pair[1], "_", " ")
		}
	}
	for _, tag := range slices.Compact([]string{folder, source}) {
		v, err := c.open[tag]()
		if err != nil {
			return nil, err
		}
		t.texts = append(t.texts, goi18n.NewLocalizer(v.bundle, tag))
	}
	return t, nil
}

// decimalSign asks CLDR: what stands between the digits of one and a half.
func decimalSign(t language.Tag) string {
	return strings.TrimFunc(message.NewPrinter(t).Sprint(number.Decimal(1.5)), unicode.IsDigit)
}

func (t *tongue) say(m model.Msg) string {
	if m.IsZero() {
		return ""
	}
	text := t.text(m.Key, m.Args["n"])
	if text == "" {
		return "⟦" + m.Key + "⟧"
	}
	return t.fill(text, m.Args)
}

// word is a text without arguments.
func (t *tongue) word(key string) string { return t.say(model.Msg{Key: key}) }

// text finds the text of key in the plural form for n, with its placeholders
// as they stand; "" where no language has the key.
func (t *tongue) text(key string, n any) string {
	for _, l := range t.texts {
		s, _ := l.Localize(&goi18n.LocalizeConfig{
			MessageID:      key,
			PluralCount:    count(n),
			TemplateParser: template.IdentityParser{},
		})
		if s != "" {
			return s
		}
	}
	return ""
}

// count is n in a form plural rules understand, nil where it counts nothing.
func count(n any) any {
	switch n := n.(type) {
	case int, int8, int16, int32, int64:
		return n
	case float64:
		return model.FormatNumber(n)
	case model.Quantity:
		return count(n.Typed)
	case string:
		if _, ok := model.ParseNumber(n); ok {
			return n
		}
	}
	return nil
}

var placeholder = regexp.MustCompile(`\{\{\s*\.(\w+)\s*\}\}`)

// fill puts the arguments in. A word of ours that begins a sentence gets its
// capital; a name or a typed text stays as it is.
func (t *tongue) fill(text string, args map[string]any) string {
	var b strings.Builder
	end := 0
	for _, at := range placeholder.FindAllStringSubmatchIndex(text, -1) {
		b.WriteString(text[end:at[0]])
		end = at[1]
		name := text[at[2]:at[3]]
		v, ok := args[name]
		if !ok {
			b.WriteString("⟦" + name + "⟧")
			continue
		}
		s := t.arg(v)
		if ours(v) && beginsSentence(text[:at[0]]) {
			s = t.capital(s)
		}
		b.WriteString(s)
	}
	b.WriteString(text[end:])
	return b.String()
}

func ours(v any) bool {
	switch v.(type) {
	case model.Msg, []model.Msg, model.AnyOf, model.Code, []model.Code, model.Kind, model.Grade, model.Problem, time.Duration:
		return true
	}
	return false
}

func beginsSentence(before string) bool {
	before = strings.TrimRight(before, "¿¡")
	if trimmed := strings.TrimRight(before, " \n"); trimmed == "" || trimmed != before {
		return trimmed == "" || strings.ContainsRune(".!?", rune(trimmed[len(trimmed)-1]))
	}
	return false
}

// capital gives a text its first capital letter, unless its own spelling
// decides (pH, eGFR).
func (t *tongue) capital(s string) string {
	r := []rune(s)
	if len(r) == 0 || len(r) > 1 && unicode.IsUpper(r[1]) {
		return s
	}
	return cases.Upper(t.asked).String(string(r[0])) + string(r[1:])
}

// arg is an argument in words.
func (t *tongue) arg(v any) string {
	switch v := v.(type) {
	case string:
		return v
	case model.Msg:
		return t.say(v)
	case []model.Msg:
		return list(t, v, "list.last", t.say)
	case model.AnyOf:
		return list(t, v, "list.or", t.say)
	case model.Problem:
		return t.say(v.Why)
	case model.Code:
		return t.name(v)
	case []model.Code:
		return list(t, v, "list.last", t.name)
	case model.Kind:
		return t.known("kind."+string(v), string(v))
	case model.When:
		return t.date(v)
	case model.ValueOf:
		return t.value(v.Kind, v.Value)
	case model.Brief:
		return t.brief(v.When)
	case model.Grade:
		return t.grade(v)
	case model.Quantity:
		return t.quantity(v)
	case []model.Observation:
		said := make([]string, len(v))
		for i, o := range v {
			said[i] = t.observation(o)
		}
		return strings.Join(said, "; ")
	case time.Duration:
		return t.duration(v)
	case []string:
		return list(t, v, "list.last", func(s string) string { return s })
	case int:
		return strconv.Itoa(v)
	case float64:
		return t.number(model.FormatNumber(v))
	}
	return fmt.Sprint(v)
}

// known is the text of key, or instead where no language has it.
func (t *tongue) known(key, instead string) string {
	if s := t.text(key, nil); s != "" {
		return s
	}
	return instead
}

// list joins items as the language does: "a, b and c"; last is the text that
// puts the last one behind.
func list[T any](t *tongue, items []T, last string, say func(T) string) string {
	if len(items) == 0 {
		return ""
	}
	out := say(items[0])
	for i, it := range items[1:] {
		key := "list.more"
		if i == len(items)-2 {
			key = last
		}
		out = t.join(key, out, say(it))
	}
	return out
}

// join puts b behind a. Spanish "y" before the sound of i becomes "e", and "o"
// before that of o becomes "u", which no list of patterns can say.
func (t *tongue) join(key, a, b string) string {
	switch {
	case t.tag == "es" && key == "list.last" && soundsLikeI.MatchString(b):
		return a + " e " + b
	case t.tag == "es" && key == "list.or" && soundsLikeO.MatchString(b):
		return a + " u " + b
	}
	return t.fill(t.text(key, nil), map[string]any{"a": a, "b": b})
}

var soundsLikeI = regexp.MustCompile(`(?i)^(hi|hí|i|í)([^aeoáéó]|$)`)
var soundsLikeO = regexp.MustCompile(`(?i)^(ho|hó|o|ó)`)

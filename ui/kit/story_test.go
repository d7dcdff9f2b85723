package kit_test

import (
	"image"
	"image/color"
	"image/png"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/test"

	"quietwater/assets"
	"quietwater/i18n"
	"quietwater/model"
	"quietwater/ui/kit"
)

// words are the real catalogues, and the texts of the stories below.
type words struct {
	pair     *i18n.Pair
	one, two string
}

func (w words) T(m model.Msg) string { return w.say(m, w.one, w.pair.T) }

func (w words) T2(m model.Msg) string {
	if w.two == "" {
		return ""
	}
	return w.say(m, w.two, w.pair.T2)
}

// say takes a story's text, or leaves the message to the catalogues with the
// stories inside it said already.
func (w words) say(m model.Msg, lang string, real func(model.Msg) string) string {
	if text, ok := stories[lang][m.Key]; ok {
		return text
	}
	args := map[string]any{}
	for name, v := range m.Args {
		if inner, ok := v.(model.Msg); ok {
			v = w.say(inner, lang, real)
		}
		args[name] = v
	}
	return real(model.Msg{Key: m.Key, Args: args})
}

func pair(t testing.TB, one, two string) kit.Words {
	t.Helper()
	p, err := i18n.New(one, two)
	if err != nil {
		t.Fatal(err)
	}
	return words{p, one, two}
}

func english(t testing.TB) kit.Words { return pair(t, "en", "") }

// long is the pair that needs the most room: Spanish over English.
func long(t testing.TB) kit.Words { return pair(t, "es", "en") }

var stories = map[string]map[string]string{
	"en": {
		"story.title": "Today · Rosa", "story.test": "Start a strip test", "story.weigh": "Write down the weight",
		"story.para":   "Rosa's strip on 6 August showed protein 2+. A single strip can be wrong: after hard exercise, with fever, or when the strip is old.",
		"story.help-h": "Look at the paper from the laboratory. The unit stands beside the number.",
		"story.creat":  "Creatinine in the blood", "story.umol": "µmol/L", "story.mg": "mg/dL",
		"story.problem": "This looks too high for mg/dL. Did you mean 97 µmol/L? Choose the unit again.",
		"story.when":    "When was the blood taken?", "story.time": "At what time?", "story.note": "What did the doctor say?",
		"story.ask": "Is it the first urine of the morning?", "story.pads": "Protein: which block is the most alike?",
		"story.trace": "a trace", "story.little": "a little", "story.more": "more", "story.much": "a great deal", "story.none": "none",
		"story.soon": "Call today, nights and weekends too", "story.now": "Get help now", "story.retest": "Test again", "story.book": "See a doctor within 7 days: ring now",
		"story.f-title": "Protein and blood in the urine together", "story.f-do": "Call the kidney clinic today: 555 0142. Say what the strip showed.",
		"story.f-why":    "On 6 August the strip showed protein 2+ and blood 1+. Both together can mean that the kidneys' filters are inflamed.",
		"story.f-change": "A laboratory test of the urine that shows neither.", "story.f-when": "Seen on 6 August 2026, 07:40", "story.f-src": "Source: guideline for chronic kidney disease, chapter 1, 2024",
		"story.called": "I called", "story.knows": "The doctor knows", "story.pad": "Blood", "story.saved": "Saved: weight 72.5 kg.",
		"story.not-saved": "The disk is full, so the test was not saved. It is still on this page. Free some space, then press Save again.",
		"story.del-q":     "Delete this strip test?", "story.del-b": "It goes into the bin and stays there for 30 days.", "story.del": "Delete the test of 6 August",
		"story.alt": "Weight from 1 to 30 June: from 73.1 down to 71.8 kg.", "story.step": "Dip the strip, then press Space.", "story.link": "Where does this come from?",
		"story.row-note": "5 of 50 strips left. Use by 30 September 2026.", "story.pack": "The tub on the shelf",
	},
	"es": {
		"story.title": "Hoy · María del Carmen", "story.test": "Empezar una prueba con tira", "story.weigh": "Apuntar el peso de esta mañana",
		"story.para":   "La tira de Rosa del 6 de agosto mostró proteína 2+. Una sola tira puede equivocarse: después de un ejercicio fuerte, con fiebre o si la tira es vieja.",
		"story.help-h": "Mire el papel del laboratorio. La unidad está al lado del número.",
		"story.creat":  "Creatinina en la sangre", "story.umol": "µmol/L", "story.mg": "mg/dL",
		"story.problem": "Parece demasiado alto para mg/dL. ¿Quiso decir 97 µmol/L? Elija otra vez la unidad.",
		"story.when":    "¿Cuándo le sacaron la sangre?", "story.time": "¿A qué hora?", "story.note": "¿Qué dijo la médica o el médico?",
		"story.ask": "¿Es la primera orina de la mañana?", "story.pads": "Proteína: ¿qué cuadro se parece más?",
		"story.trace": "indicios", "story.little": "un poco", "story.more": "más", "story.much": "muchísimo", "story.none": "nada",
		"story.soon": "Llame hoy, también de noche y en fin de semana", "story.now": "Pida ayuda ahora mismo", "story.retest": "Repita la prueba", "story.book": "Vea a un médico en un plazo de 7 días: pida cita ahora",
		"story.f-title": "Proteína y sangre en la orina al mismo tiempo", "story.f-do": "Llame hoy a su consulta de riñón: 555 0142. Diga lo que mostró la tira.",
		"story.f-why":    "El 6 de agosto la tira mostró proteína 2+ y sangre 1+. Las dos juntas pueden significar que los filtros del riñón están inflamados.",
		"story.f-change": "Un análisis de orina en el laboratorio que no muestre ninguna de las dos.", "story.f-when": "Visto el 6 de agosto de 2026 a las 7:40", "story.f-src": "Fuente: guía de enfermedad renal crónica, capítulo 1, 2024",
		"story.called": "Ya llamé", "story.knows": "El médico ya lo sabe", "story.pad": "Sangre", "story.saved": "Guardado: peso 72,5 kg.",
		"story.not-saved": "El disco está lleno y la prueba no se guardó. Sigue en esta página. Libere espacio y pulse Guardar otra vez.",
		"story.del-q":     "¿Borrar esta prueba con tira?", "story.del-b": "Va a la papelera y se queda allí durante 30 días.", "story.del": "Borrar la prueba del 6 de agosto",
		"story.alt": "Peso del 1 al 30 de junio: de 73,1 a 71,8 kg.", "story.step": "Moje la tira y pulse la barra espaciadora.", "story.link": "¿De dónde sale esto?",
		"story.row-note": "Quedan 5 de 50 tiras. Usar antes del 30 de septiembre de 2026.", "story.pack": "El bote de la estantería",
	},
}

var today = time.Date(2026, 8, 6, 7, 40, 0, 0, time.UTC)

func m(key string) model.Msg { return model.T(key) }

func nothing() {}

var blocks = []kit.Swatch{
	{Value: "neg", Grade: m("story.none"), RGB: [3]uint8{233, 226, 120}, Step: 0},
	{Value: "±", Grade: m("story.trace"), RGB: [3]uint8{205, 214, 116}, Step: 1},
	{Value: "30 mg/dL", Grade: m("story.little"), RGB: [3]uint8{172, 196, 122}, Step: 2},
	{Value: "100 mg/dL", Grade: m("story.more"), RGB: [3]uint8{128, 176, 138}, Step: 3},
	{Value: "≥ 2000 mg/dL", Grade: m("story.much"), RGB: [3]uint8{72, 142, 140}, Step: 4},
}

func finding(urgency int, soon string) kit.FindingText {
	return kit.FindingText{
		Urgency: urgency, HowSoon: m(soon), When: m("story.f-when"), Title: m("story.f-title"), Do: m("story.f-do"),
		Why: m("story.f-why"), Change: m("story.f-change"), Sources: m("story.f-src"),
		Call: func(k *kit.Kit) []fyne.CanvasObject {
			return []fyne.CanvasObject{k.Row(k.Button("called", m("story.called"), nothing), k.Button("knows", m("story.knows"), nothing))}
		},
	}
}

func wave(w, h int, scale float32) image.Image {
	img := image.NewNRGBA(image.Rect(0, 0, w, h))
	for x := range w {
		img.SetNRGBA(x, h/2, color.NRGBA{10, 79, 112, 255})
	}
	return img
}

// pages are stories: every widget of the kit on some page.
var pages = map[string]func(*kit.Kit) *kit.Page{
	"words": func(k *kit.Kit) *kit.Page {
		off := k.Button("off", m("story.knows"), nothing)
		off.Disable()
		return framed(k, k.BothSection(m("story.f-title")), k.Both(m("story.para")), k.BothSmall(m("story.help-h")),
			k.Row(k.PictureButton("weigh", m("story.weigh"), "today", assets.Picture(assets.Today), nothing), k.Button("called", m("story.called"), nothing), off),
			k.TextLink("link", m("story.link"), nothing),
			k.Card(k.PersonMark(2, "Rosa Delgado"), k.Text(m("story.para"))),
			k.Band(k.Strong(m("story.alt"))),
			k.List(
				kit.ListItem{ID: "pack-1", Title: m("story.pack"), Note: m("story.row-note"), Lead: k.Leaf(5, "Ana"), Open: nothing},
				kit.ListItem{ID: "pack-2", Title: kit.Said("Bote 2"), Open: nothing}))
	},
	"fields": func(k *kit.Kit) *kit.Page {
		n := k.NumberField(kit.Ask{ID: "creatinine", Label: m("story.creat"), Help: m("story.help-h")}, "18",
			[]kit.Option{{ID: "umol/L", Label: m("story.umol")}, {ID: "mg/dL", Label: m("story.mg")}}, "mg/dL", nil)
		n.SetProblem(m("story.problem"))
		return framed(k, n,
			k.DateField(kit.AskDate{ID: "when", Label: m("story.when"), Value: model.OnDay(today), Today: today, Recent: true, MonthOnly: true}),
			k.TimeField(kit.AskTime{ID: "time", Label: m("story.time"), Hour: 7, Minute: 40, Now: func() time.Time { return today }}),
			k.Field(kit.Ask{ID: "note", Label: m("story.note"), Lines: 3}, "", nil),
			k.SecretField(kit.Ask{ID: "secret", Label: m("story.note")}, nil),
			k.Check("morning", m("story.ask"), true, nil))
	},
	"choices": func(k *kit.Kit) *kit.Page {
		yes := []kit.Option{{ID: "yes", Label: m("do.yes")}, {ID: "no", Label: m("do.no")}, {ID: "unsure", Label: m("do.unsure"), Note: m("story.help-h")}}
		return framed(k,
			k.SwatchRow("protein", m("story.pads"), blocks, 2, nil),
			k.Choice("first", m("story.ask"), yes, "yes", nil),
			k.ShortChoice("again", m("story.ask"), yes[:2], "", nil),
			k.Select("pack", m("story.pack"), yes, "", nil))
	},
	"findings": func(k *kit.Kit) *kit.Page {
		return framed(k, k.FindingCard(finding(5, "story.now")), k.FindingCard(finding(4, "story.soon")), k.FindingCard(finding(3, "story.book")),
			k.FindingRow("row", 2, m("story.book"), m("story.f-title"), nothing),
			k.FindingRow("row1", 1, m("story.retest"), m("story.f-title"), nothing),
			k.FindingRow("row0", 0, m("story.retest"), m("story.f-title"), nothing))
	},
	"guided": func(k *kit.Kit) *kit.Page {
		c := k.Countdown()
		c.Set(42*time.Second, m("story.pad"))
		p := framed(k, k.Step(m("story.step")), c)
		return p
	},
	"notices": func(k *kit.Kit) *kit.Page {
		p := framed(k,
			k.Notice(kit.NoticeFailed, m("story.not-saved"), k.Button("again", m("do.try-again"), nothing)),
			k.Notice(kit.NoticeCare, m("story.help-h")),
			k.ChartView(kit.AskChart{ID: "weight", Alt: m("story.alt"), Height: 200, Draw: wave, Words: func() []model.Msg { return []model.Msg{m("story.alt")} }}))
		p.SetBar(k.SavedBar(m("story.saved"), nothing, func() { p.SetBar(nil) }))
		return p
	},
}

func framed(k *kit.Kit, content ...fyne.CanvasObject) *kit.Page {
	return k.Page(kit.PageParts{
		Title: m("story.title"), Mark: k.Leaf(3, "Rosa"), Help: k.Button("help", m("do.help"), nothing), Content: content,
		Back: k.Button("back", m("do.back"), nothing), Main: k.MainButton("start-test", m("story.test"), nothing),
	})
}

// show opens a window with something in it, in a look.
func show(t testing.TB, look kit.Look, o fyne.CanvasObject) fyne.Window {
	t.Helper()
	w := test.NewWindow(o)
	w.SetPadded(false)
	w.Resize(fyne.NewSize(1280, 800))
	t.Cleanup(w.Close)
	return w
}

func dress(t testing.TB, look kit.Look) {
	t.Helper()
	test.ApplyTheme(t.(*testing.T), kit.NewTheme(look))
}

// TestStorybook writes pictures of every story for people to look at, into the
// folder that KIT_SHOTS names.
func TestStorybook(t *testing.T) {
	dir := os.Getenv("KIT_SHOTS")
	if dir == "" {
		t.Skip("set KIT_SHOTS to a folder to see the widgets")
	}
	looks := map[string]kit.Look{"light-100": {Scale: 1}, "dark-200": {Scale: 2, Ink: kit.Dark}, "contrast-150": {Scale: 1.5, Ink: kit.HighContrast}, "light-200": {Scale: 2}}
	for name, look := range looks {
		for id, build := range pages {
			dress(t, look)
			k := kit.New(long(t), look)
			if name == "light-100" {
				k = kit.New(english(t), look)
			}
			w := show(t, look, build(k))
			w.Resize(fyne.NewSize(1280, 800))
			if strings.HasSuffix(name, "100") {
				w.Resize(fyne.NewSize(1040, 1500))
			}
			time.Sleep(50 * time.Millisecond)
			shoot(t, w, filepath.Join(dir, id+"-"+name+".png"))
			if id == "notices" {
				k.Confirm(w.Canvas(), kit.Question{Title: m("story.del-q"), Body: m("story.del-b"), Keep: m("do.keep"), Do: m("story.del"), Danger: true})
				shoot(t, w, filepath.Join(dir, "confirm-"+name+".png"))
			}
		}
	}
}

func shoot(t *testing.T, w fyne.Window, path string) {
	t.Helper()
	f, err := os.Create(path)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	if err := png.Encode(f, w.Canvas().Capture()); err != nil {
		t.Fatal(err)
	}
}

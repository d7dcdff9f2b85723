package household

import (
	"encoding/json"
	"slices"

	"quietwater/model"
)

// Cup is something the household drinks from, or measures urine with.
type Cup struct {
	ID   string
	Word string // one of [CupWords], or "" where it has a name of its own
	Name string
	ML   int // what it holds as it is usually filled, mL, 1 to MaxCup
}

// MaxCup is the largest cup, in mL (our own choice; see daily.MuchDrink).
const MaxCup = 1500

// CupWords are the cups offered before the household has measured its own, with
// what they usually hold in mL (common practice).
func CupWords() []Cup {
	return []Cup{
		{ID: "glass", Word: "glass", ML: 200},
		{ID: "mug", Word: "mug", ML: 250},
		{ID: "cup", Word: "cup", ML: 150},
		{ID: "soup", Word: "soup", ML: 250},
		{ID: "ice", Word: "ice", ML: 15},
	}
}

// Title is what a cup is called.
func (c Cup) Title() model.Msg {
	if c.Word != "" {
		return model.T("cup." + c.Word)
	}
	return model.T("cup.own", "name", c.Name)
}

// Cups are the household's, in the order they are offered. Until it has kept
// its own they are [CupWords]; what cannot be read any more counts as that.
func (r Records) Cups() []Cup {
	var own []Cup
	if json.Unmarshal([]byte(r.Settings[SetCups]), &own) != nil {
		return CupWords()
	}
	return slices.DeleteFunc(own, func(c Cup) bool {
		return c.ML < 1 || c.ML > MaxCup || c.Name == "" && !slices.ContainsFunc(CupWords(), func(w Cup) bool { return w.Word == c.Word })
	})
}

// KeepCups is the change that keeps them.
func KeepCups(cups []Cup) Changes {
	return kept(SetCups, cups)
}

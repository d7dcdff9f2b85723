package print

import (
	"strings"
	"testing"
	"time"

	"quietwater/model"
	"quietwater/model/todo"
)

func TestTodoList(t *testing.T) {
	now := model.At(time.Date(2027, 3, 10, 9, 0, 0, 0, time.UTC))
	var lines []todo.Item
	for i := range 60 {
		lines = append(lines, todo.Item{Person: "a", Name: strings.Repeat("Rosa ", 1+i%5), What: model.T("todo.pressure"), From: now.Time().Add(time.Duration(i) * time.Hour), To: now.Time().Add(90 * time.Hour)})
	}
	for _, n := range []int{0, 1, 60} {
		pdf, err := TodoList(speak(t, "es"), lines[:n], now)
		if err != nil {
			t.Fatal(err)
		}
		pages := pagesOf(pdf)
		if want := map[int]int{0: 1, 1: 1, 60: 7}[n]; pages < 1 || pages > want {
			t.Errorf("%d to-dos take %d pages", n, pages)
		}
	}
}

package model

// Msg is a sentence for a person, named by its key in the text catalogues.
// Only i18n turns it into words.
//
// An argument may be a string (shown as it is: a name, a typed value), a
// number, another Msg (rendered first), a [When], a [Brief], a [Grade], a [Code], a
// [Quantity] or an [Observation], or several of one of them, which are all
// meant; of [AnyOf] any one is. The argument "n" chooses the plural form.
type Msg struct {
	Key  string
	Args map[string]any
}

// AnyOf are things of which one or another is meant: "a, b or c".
type AnyOf []Msg

// T builds a Msg from a key and alternating argument names and values. It is
// written in code only, so an odd or misnamed list is a programmer's error.
func T(key string, args ...any) Msg {
	if len(args) == 0 {
		return Msg{Key: key}
	}
	m := Msg{Key: key, Args: make(map[string]any, len(args)/2)}
	for i := 0; i+1 < len(args); i += 2 {
		m.Args[args[i].(string)] = args[i+1]
	}
	return m
}

// Observation is one value as it was recorded, to be said with its date and
// name: "1 March 2027, 08:34, protein: 1+".
type Observation struct {
	When  When
	Kind  Kind
	Value Value
}

// ValueOf is a value to be said in words without its name: "1+ (one plus)",
// "mild", "250 mL".
type ValueOf struct {
	Kind  Kind
	Value Value
}

// Brief is a When to be said in the shortest form: the day, its month cut.
type Brief struct{ When }

// IsZero reports whether there is nothing to say.
func (m Msg) IsZero() bool { return m.Key == "" }

// Problem is one thing wrong with what somebody typed or imported: which
// field, and a sentence that says what to do.
type Problem struct {
	Field string // a column of the plain table or a value's code
	Why   Msg
}

// Told is an error that can speak to the person at the screen: what happened,
// what is safe, what to do next.
type Told interface {
	error
	Tell() Msg
}

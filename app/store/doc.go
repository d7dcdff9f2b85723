// Package store owns the household book on disk: every line of SQL, the lock,
// the checks at start, undo, snapshots and the way back from damage. What Put
// acknowledged is there after a crash or a power cut.
//
// It refuses to know what an entry means, how it looks, or which language the
// house speaks: errors leave it as values a caller can tell apart.
package store

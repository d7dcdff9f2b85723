// Command dial does what Quietwater must never do, so that walk-offline.sh can
// show that it would notice: it looks up a name and opens a connection. The name
// and the address are of those kept for examples (RFC 2606, RFC 5737); nobody
// answers.
package main

import (
	"fmt"
	"net"
	"time"
)

func main() {
	for _, to := range []string{"quietwater.invalid:443", "192.0.2.1:443", "[2001:db8::1]:443"} {
		c, err := net.DialTimeout("tcp", to, time.Second)
		if err == nil {
			c.Close()
		}
		fmt.Println(to, err)
	}
}

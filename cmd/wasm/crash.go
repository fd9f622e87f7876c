//go:build js && wasm && crash

package main

import "syscall/js"

// A program built with the tag crash can be ended by a test, as a mistake in a
// goroutine would end it.
func init() {
	js.Global().Set("rungCrash", js.FuncOf(func(js.Value, []js.Value) any {
		go panic("ended by a test")
		return nil
	}))
}

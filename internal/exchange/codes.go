package exchange

import (
	"bytes"
	"crypto/sha256"
	"encoding/base32"
	"encoding/binary"
	"errors"
	"fmt"
	"hash/crc32"
	"slices"
	"strconv"
	"strings"
)

// A bundle as a row of texts, each small enough for a code that one phone shows
// and the camera of another reads:
//
//	RUNG1:K3M7Q2XA:2/7:AB3DE7Q:…
//
// The mark of the bundle, the number of the text, how many there are, a
// checksum, and the data. All characters are of the alphanumeric mode of QR
// codes, in which two of them take eleven bits.
const codeHead = "RUNG1"

// CodeData is how many characters of the bundle one text holds, and MostCodes
// how many texts a bundle may have. practice: a code of 500 characters is read
// off a phone at arm's length; nobody holds still for more than thirty.
const (
	CodeData  = 500
	MostCodes = 30
)

// ErrTooMany says that a bundle is too large for codes.
var ErrTooMany = errors.New("too many entries for codes")

var codeText = base32.StdEncoding.WithPadding(base32.NoPadding)

// Codes returns the texts of a bundle in their order, and its mark. Whoever
// makes them of the same bundle again gets the same. More than MostCodes are an
// ErrTooMany: hand over a file instead.
func Codes(b Bundle) (texts []string, mark string, err error) {
	var file bytes.Buffer
	if err := WriteBundle(&file, b); err != nil {
		return nil, "", err
	}
	data := codeText.EncodeToString(file.Bytes())
	n := (len(data) + CodeData - 1) / CodeData
	if n > MostCodes {
		return nil, "", fmt.Errorf("%w: they would make %d, at most %d", ErrTooMany, n, MostCodes)
	}
	mark = codeMark(file.Bytes())
	number := 0
	for part := range slices.Chunk([]byte(data), CodeData) {
		number++
		texts = append(texts, codeOf(mark, number, n, string(part)))
	}
	return texts, mark, nil
}

// codeMark tells bundles apart.
func codeMark(file []byte) string {
	h := sha256.Sum256(file)
	return codeText.EncodeToString(h[:5])
}

func codeOf(mark string, number, of int, data string) string {
	return fmt.Sprintf("%s:%s:%d/%d:%s:%s", codeHead, mark, number, of, codeCheck(mark, number, of, data), data)
}

// codeCheck is the checksum of one text: a reader of codes makes no mistake, but
// whoever copies and pastes cuts one short.
func codeCheck(mark string, number, of int, data string) string {
	sum := crc32.ChecksumIEEE(fmt.Appendf(nil, "%s:%d/%d:%s", mark, number, of, data))
	return codeText.EncodeToString(binary.BigEndian.AppendUint32(nil, sum))
}

// Collected are texts of codes as they come in, in any order and again and again.
type Collected struct {
	Mark    string
	Of      int   // how many there are; 0 before the first good one
	Missing []int // numbers
	Damaged int   // texts that are no whole code
	Foreign int   // good texts of other bundles than the first
	Texts   []string
}

// Collect reads texts of codes, separated by blanks or lines. The bundle is
// whole if none is missing; else it is empty. An error is one of ReadBundle.
func Collect(text string) (Bundle, Collected, error) {
	var c Collected
	data := map[int]string{}
	for _, word := range strings.Fields(text) {
		mark, number, of, part, ok := parseCode(word)
		switch {
		case !ok:
			c.Damaged++
		case c.Of != 0 && (mark != c.Mark || of != c.Of):
			c.Foreign++
		default:
			c.Mark, c.Of = mark, of
			if _, again := data[number]; !again {
				c.Texts = append(c.Texts, strings.ToUpper(word))
			}
			data[number] = part
		}
	}
	var whole strings.Builder
	for n := 1; n <= c.Of; n++ {
		if _, there := data[n]; !there {
			c.Missing = append(c.Missing, n)
		}
		whole.WriteString(data[n])
	}
	if c.Of == 0 || c.Missing != nil {
		return Bundle{}, c, nil
	}
	file, err := codeText.DecodeString(whole.String())
	if err != nil || codeMark(file) != c.Mark {
		return Bundle{}, c, fmt.Errorf("%w: the codes do not make one", ErrBundle)
	}
	b, err := ReadBundle(bytes.NewReader(file))
	return b, c, err
}

// parseCode reads the text of one code.
func parseCode(word string) (mark string, number, of int, data string, ok bool) {
	parts := strings.Split(strings.ToUpper(word), ":")
	if len(parts) != 5 || parts[0] != codeHead {
		return "", 0, 0, "", false
	}
	left, right, _ := strings.Cut(parts[2], "/")
	number, err1 := strconv.Atoi(left)
	of, err2 := strconv.Atoi(right)
	if err1 != nil || err2 != nil || number < 1 || number > of || of > MostCodes {
		return "", 0, 0, "", false
	}
	mark, data = parts[1], parts[4]
	return mark, number, of, data, parts[3] == codeCheck(mark, number, of, data)
}

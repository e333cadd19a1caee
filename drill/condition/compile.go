package condition

import (
	"cmp"
	"errors"
	"fmt"
	"maps"
	"math"
	"slices"
	"strings"
	"unicode/utf8"

	"github.com/expr-lang/expr/ast"
	"github.com/expr-lang/expr/checker"
	"github.com/expr-lang/expr/conf"
	"github.com/expr-lang/expr/file"
	"github.com/expr-lang/expr/parser"

	"hornlark/drill/fault"
)

// The bounds of a condition.
const (
	MaxLength  = 2000 // bytes
	MaxNesting = 16   // brackets, arithmetic and "not" inside one another; a chain of "and" or "or" counts once
	MaxNumber  = 1e9  // magnitude of a number that is written out
)

// Error is why a condition does not compile.
type Error struct {
	Column  int    // where, in characters from 1
	Problem string // what is wrong, without a full stop
	Remedy  string // what to write instead, without a full stop; may be empty
}

// Error gives the column, the problem and the remedy in one line.
func (e *Error) Error() string {
	s := fmt.Sprintf("column %d: %s", e.Column, e.Problem)
	if e.Remedy != "" {
		s += "; " + e.Remedy
	}
	return s
}

// Condition is a compiled condition. It is immutable and may be shared.
type Condition struct {
	source string
	looks  []look
	first  int16        // the look to begin with, or an end
	reads  map[int]bool // slots
}

// Compile makes a condition ready to be asked. Every error is an *Error.
func Compile(src string, scope Scope) (*Condition, error) {
	tree, err := parse(src)
	if err != nil {
		return nil, err
	}
	c := &compiler{scope: scope, reads: map[int]bool{}}
	c.desugar(&tree.Node)
	whole, err := c.truth(tree.Node)
	if err != nil {
		return nil, err
	}
	// Everything that gets here has passed rules stricter than those of expr. That it passes them too is what makes a
	// condition an expr program, to which the tests hold this evaluation.
	if _, err := checker.Check(tree, config(scope.of(tree.Node))); err != nil {
		return nil, foreign(err)
	}
	var laid program
	first := laid.lay(whole, holds, holdsNot)
	return &Condition{source: src, looks: laid.looks, first: first, reads: c.reads}, nil
}

// Reads reports whether what the condition says hangs on the reading in a slot.
func (c *Condition) Reads(slot int) bool { return c.reads[slot] }

// String gives the condition as it was written.
func (c *Condition) String() string { return c.source }

// parse reads a condition as expr would, with none of expr's functions.
func parse(src string) (*parser.Tree, error) {
	switch {
	case strings.TrimSpace(src) == "":
		return nil, &Error{1, "the condition is empty", "write one, as in nr < 95, or leave the field out"}
	case len(src) > MaxLength:
		return nil, &Error{1, fmt.Sprintf("the condition is %d bytes long", len(src)), fmt.Sprintf("stay below %d", MaxLength)}
	case !utf8.ValidString(src):
		return nil, &Error{1, "the condition is not valid UTF-8 text", "write it in plain letters"}
	}
	tree, err := parser.ParseWithConfig(src, config(nil))
	if err != nil {
		return nil, foreign(err)
	}
	return tree, nil
}

// of is the part of the scope that a tree uses. A library has a thousand conditions, and to hand expr every name of an
// aircraft for each of them took a third of the time that the library takes to load.
func (s Scope) of(tree ast.Node) Scope {
	used := usedNames{scope: s, found: Scope{}}
	ast.Walk(&tree, &used)
	return used.found
}

type usedNames struct{ scope, found Scope }

// Visit is called for every node of a tree.
func (u *usedNames) Visit(n *ast.Node) {
	if id, ok := (*n).(*ast.IdentifierNode); ok {
		if name, known := u.scope[id.Value]; known {
			u.found[id.Value] = name
		}
	}
}

// exampleOf is a value of each type: of what the names are is all that expr is told.
var exampleOf = [...]any{Number: *new(float64), Switch: *new(bool), Selector: *new(string)}

// config is expr's, with the names of the scope and no functions.
func config(scope Scope) *conf.Config {
	names := make(map[string]any, len(scope))
	for id, name := range scope {
		names[id] = exampleOf[name.Type]
	}
	c := &conf.Config{MaxNodes: conf.DefaultMaxNodes}
	c.WithEnv(names)
	return c
}

// foreign turns an error of expr into ours.
func foreign(err error) error {
	var e *file.Error
	if errors.As(err, &e) {
		return &Error{e.From + 1, strings.TrimSuffix(e.Message, "."), "write numbers, names, and, or, not, comparisons and + - * /, as in nr < 95 and battery"}
	}
	return &Error{1, err.Error(), ""}
}

// truth and number are what a comparison that is no range is made of, once it is compiled.
type (
	truth  func(readings []float64) bool
	number func(readings []float64) float64
)

type compiler struct {
	reads map[int]bool // slots that have been looked up
	scope Scope
	depth int
}

func refuse(n ast.Node, remedy, problem string, args ...any) error {
	return &Error{n.Location().From + 1, fmt.Sprintf(problem, args...), remedy}
}

// enter counts a level of nesting; leave has to follow.
func (c *compiler) enter(n ast.Node) error {
	if c.depth++; c.depth > MaxNesting {
		return refuse(n, fmt.Sprintf("nest at most %d deep", MaxNesting), "the condition is nested too deeply")
	}
	return nil
}

func (c *compiler) leave() { c.depth-- }

// desugar writes a switch that is compared with one of its two positions as the switch itself, or as its opposite.
func (c *compiler) desugar(root *ast.Node) { ast.Walk(root, c) }

// Visit is called for every node of a tree, children first.
func (c *compiler) Visit(n *ast.Node) {
	b, ok := (*n).(*ast.BinaryNode)
	if !ok || b.Operator != "==" && b.Operator != "!=" {
		return
	}
	id, text := operands(b)
	if id == nil || text == nil {
		return
	}
	name := c.scope[id.Value] // a name that there is not has no positions
	position := slices.Index(name.Positions, text.Value)
	if name.Type != Switch || len(name.Positions) != 2 || position < 0 {
		return
	}
	if (position == 1) == (b.Operator == "==") {
		ast.Patch(n, &ast.IdentifierNode{Value: id.Value})
		return
	}
	opposite := &ast.IdentifierNode{Value: id.Value}
	opposite.SetLocation(b.Location())
	ast.Patch(n, &ast.UnaryNode{Operator: "not", Node: opposite})
}

// operands gives the name and the quoted text of a comparison, in either order; nil for what it does not have.
func operands(b *ast.BinaryNode) (id *ast.IdentifierNode, text *ast.StringNode) {
	for _, n := range []ast.Node{b.Left, b.Right} {
		switch n := n.(type) {
		case *ast.IdentifierNode:
			id = n
		case *ast.StringNode:
			text = n
		}
	}
	return id, text
}

// truth compiles something that is true or false.
func (c *compiler) truth(n ast.Node) (*clause, error) {
	switch n := n.(type) {
	case *ast.BoolNode:
		return &clause{fixed: &n.Value}, nil
	case *ast.IdentifierNode:
		return c.flag(n)
	case *ast.UnaryNode:
		if n.Operator == "not" || n.Operator == "!" {
			return c.opposite(n)
		}
	case *ast.BinaryNode:
		switch n.Operator {
		case "and", "&&", "or", "||":
			return c.chain(n)
		case "<", "<=", ">", ">=", "==", "!=":
			return c.comparison(n)
		case "in":
			return c.oneOf(n)
		}
	}
	if isArithmetic(n) {
		return nil, refuse(n, "compare it with something, as in nr < 95", "a number is neither true nor false")
	}
	return nil, c.outside(n)
}

// outside says that the language does not have something.
func (c *compiler) outside(n ast.Node) error {
	const remedy = "write numbers, names, and, or, not, comparisons and + - * /"
	switch n := n.(type) {
	case *ast.StringNode:
		return refuse(n, `compare a control with it, as in engine1 == "idle"`, "%q stands by itself", n.Value)
	case *ast.BinaryNode:
		return refuse(n, remedy, "%q is not part of a condition", n.Operator)
	case *ast.CallNode, *ast.BuiltinNode:
		return refuse(n, remedy, "functions are not part of a condition")
	}
	return refuse(n, remedy, "this is not part of a condition")
}

// flag compiles a name that is true or false by itself.
func (c *compiler) flag(n *ast.IdentifierNode) (*clause, error) {
	name, err := c.lookUp(n)
	if err != nil {
		return nil, err
	}
	switch name.Type {
	case Switch:
		return againstFigure("!=", name.Slot, 0), nil
	case Selector:
		return nil, refuse(n, fmt.Sprintf("write %s == and one of %s", n.Value, quoted(name.Positions)), "%s has more than two positions", n.Value)
	}
	return nil, refuse(n, fmt.Sprintf("compare it with something, as in %s > 0", n.Value), "%s is a number, neither true nor false", n.Value)
}

func (c *compiler) lookUp(n *ast.IdentifierNode) (Name, error) {
	name, ok := c.scope[n.Value]
	if !ok {
		remedy, known := "write a name of the profile", slices.Sorted(maps.Keys(c.scope))
		if near := fault.Nearest(n.Value, known); near != "" {
			remedy = fmt.Sprintf("did you mean %s?", near)
		} else if len(known) > 0 {
			remedy += ", as " + strings.Join(fault.Likeliest(n.Value, known, 4), ", ")
		}
		return Name{}, refuse(n, remedy, "there is nothing named %q", n.Value)
	}
	c.reads[name.Slot] = true
	return name, nil
}

func (c *compiler) opposite(n *ast.UnaryNode) (*clause, error) {
	if err := c.enter(n); err != nil {
		return nil, err
	}
	defer c.leave()
	inner, err := c.truth(n.Node)
	if err != nil {
		return nil, err
	}
	return not(inner), nil
}

// chain compiles a run of one of "and" and "or", however long.
func (c *compiler) chain(n *ast.BinaryNode) (*clause, error) {
	if err := c.enter(n); err != nil {
		return nil, err
	}
	defer c.leave()
	run := &clause{all: isAnd(n.Operator)}
	for _, link := range links(n, run.all, nil) {
		part, err := c.truth(link)
		if err != nil {
			return nil, err
		}
		run.parts = append(run.parts, part)
	}
	return run, nil
}

func isAnd(operator string) bool { return operator == "and" || operator == "&&" }

// links takes a run of the same connective apart. The parser hangs such a run on its left side.
func links(n ast.Node, all bool, right []ast.Node) []ast.Node {
	for {
		b, ok := n.(*ast.BinaryNode)
		if !ok || !isConnective(b.Operator) || isAnd(b.Operator) != all {
			break
		}
		right = append(right, b.Right)
		n = b.Left
	}
	right = append(right, n)
	slices.Reverse(right)
	return right
}

func isConnective(operator string) bool {
	return isAnd(operator) || operator == "or" || operator == "||"
}

func (c *compiler) comparison(n *ast.BinaryNode) (*clause, error) {
	if id, text := operands(n); text != nil {
		if id == nil {
			return nil, refuse(n, `compare a control with a position in quotes, as in engine1 == "idle"`, "%q is compared with something that is not a control", text.Value)
		}
		return c.atPosition(n, id, text)
	}
	if err := c.enter(n); err != nil {
		return nil, err
	}
	defer c.leave()
	left, err := c.number(n.Left)
	if err != nil {
		return nil, err
	}
	right, err := c.number(n.Right)
	if err != nil {
		return nil, err
	}
	// A reading against a figure is by far the most frequent condition.
	if slot, limit := c.readingAgainstFigure(n); limit != nil {
		return againstFigure(n.Operator, slot, *limit), nil
	}
	return anything(against(n.Operator, left, right)), nil
}

// readingAgainstFigure gives the slot of a reading and the figure that it is compared with; nil where a comparison is of anything else.
func (c *compiler) readingAgainstFigure(n *ast.BinaryNode) (slot int, limit *float64) {
	id, ok := n.Left.(*ast.IdentifierNode)
	if !ok {
		return 0, nil
	}
	switch figure := n.Right.(type) {
	case *ast.IntegerNode:
		value := float64(figure.Value)
		return c.scope[id.Value].Slot, &value
	case *ast.FloatNode:
		return c.scope[id.Value].Slot, &figure.Value
	}
	return 0, nil
}

func against(operator string, a, b number) truth {
	switch operator {
	case "<":
		return func(r []float64) bool { return a(r) < b(r) }
	case "<=":
		return func(r []float64) bool { return a(r) <= b(r) }
	case ">":
		return func(r []float64) bool { return a(r) > b(r) }
	case ">=":
		return func(r []float64) bool { return a(r) >= b(r) }
	case "==":
		return func(r []float64) bool { return a(r) == b(r) }
	}
	return func(r []float64) bool { return a(r) != b(r) }
}

// atPosition compiles a selector compared with one of its positions.
func (c *compiler) atPosition(n *ast.BinaryNode, id *ast.IdentifierNode, text *ast.StringNode) (*clause, error) {
	slot, index, err := c.position(id, text)
	if err != nil {
		return nil, err
	}
	if n.Operator == "==" || n.Operator == "!=" {
		return againstFigure(n.Operator, slot, index), nil
	}
	return nil, refuse(n, "write == or !=", "positions have no order that %q could mean", n.Operator)
}

// position finds a position of a control by what it is called.
func (c *compiler) position(id *ast.IdentifierNode, text *ast.StringNode) (slot int, index float64, err error) {
	name, err := c.lookUp(id)
	if err != nil {
		return 0, 0, err
	}
	if len(name.Positions) == 0 {
		example := "write " + id.Value + " or not " + id.Value
		if name.Type == Number {
			example = "compare it with a number, as in " + id.Value + " > 0"
		}
		return 0, 0, refuse(text, example, "%s has no positions to compare with %q", id.Value, text.Value)
	}
	i := slices.Index(name.Positions, text.Value)
	if i < 0 {
		remedy := "write one of " + quoted(name.Positions)
		if near := fault.Nearest(text.Value, name.Positions); near != "" {
			remedy = fmt.Sprintf("did you mean %q? The positions are %s", near, quoted(name.Positions))
		}
		return 0, 0, refuse(text, remedy, "%s has no position %q", id.Value, text.Value)
	}
	if name.Type != Selector {
		return 0, 0, refuse(text, "write "+id.Value+" or not "+id.Value, "%s is a switch", id.Value)
	}
	return name.Slot, float64(i), nil
}

func quoted(words []string) string {
	out := make([]string, len(words))
	for i, w := range words {
		out[i] = fmt.Sprintf("%q", w)
	}
	return strings.Join(out, ", ")
}

// oneOf compiles a selector that is in one of several positions.
func (c *compiler) oneOf(n *ast.BinaryNode) (*clause, error) {
	const remedy = `write a control and a list of positions, as in engine1 in ["idle", "flight"]`
	id, ok := n.Left.(*ast.IdentifierNode)
	if !ok {
		return nil, refuse(n, remedy, `"in" wants a control on its left`)
	}
	list, ok := n.Right.(*ast.ArrayNode)
	if !ok || len(list.Nodes) == 0 {
		return nil, refuse(n, remedy, `"in" wants a list of positions on its right`)
	}
	positions := &clause{}
	for _, element := range list.Nodes {
		text, ok := element.(*ast.StringNode)
		if !ok {
			return nil, refuse(element, remedy, "a list holds positions in quotes and nothing else")
		}
		slot, index, err := c.position(id, text)
		if err != nil {
			return nil, err
		}
		positions.parts = append(positions.parts, againstFigure("==", slot, index))
	}
	return positions, nil
}

// number compiles something that has a value.
func (c *compiler) number(n ast.Node) (number, error) {
	switch n := n.(type) {
	case *ast.IntegerNode:
		return figure(n, float64(n.Value))
	case *ast.FloatNode:
		return figure(n, n.Value)
	case *ast.IdentifierNode:
		return c.reading(n)
	case *ast.UnaryNode:
		if n.Operator == "-" || n.Operator == "+" {
			return c.signed(n)
		}
	case *ast.BinaryNode:
		switch n.Operator {
		case "+", "-", "*", "/":
			return c.arithmetic(n)
		}
	}
	if isTruth(n) {
		return nil, refuse(n, `join it with "and" or "or", and write "not" before it for its opposite`, "something true or false stands where a number is wanted")
	}
	return nil, c.outside(n)
}

func figure(n ast.Node, value float64) (number, error) {
	if math.Abs(value) > MaxNumber || math.IsNaN(value) {
		return nil, refuse(n, fmt.Sprintf("stay between -%g and %g", MaxNumber, MaxNumber), "the number is too large")
	}
	return func([]float64) float64 { return value }, nil
}

func (c *compiler) reading(n *ast.IdentifierNode) (number, error) {
	name, err := c.lookUp(n)
	if err != nil {
		return nil, err
	}
	slot := name.Slot
	switch name.Type {
	case Switch:
		return nil, refuse(n, fmt.Sprintf("write %s or not %s", n.Value, n.Value), "%s is true or false, and no number", n.Value)
	case Selector:
		return nil, refuse(n, fmt.Sprintf("write %s == and one of %s", n.Value, quoted(name.Positions)), "%s is in a position, and no number", n.Value)
	}
	return func(r []float64) float64 { return r[slot] }, nil
}

func (c *compiler) signed(n *ast.UnaryNode) (number, error) {
	if err := c.enter(n); err != nil {
		return nil, err
	}
	defer c.leave()
	inner, err := c.number(n.Node)
	if err != nil || n.Operator == "+" {
		return inner, err
	}
	return func(r []float64) float64 { return -inner(r) }, nil
}

// arithmetic compiles one operation. Each operand is a call of its own, so no compiler can fuse two of them.
func (c *compiler) arithmetic(n *ast.BinaryNode) (number, error) {
	if err := c.enter(n); err != nil {
		return nil, err
	}
	defer c.leave()
	a, errA := c.number(n.Left)
	b, errB := c.number(n.Right)
	if err := cmp.Or(errA, errB); err != nil {
		return nil, err
	}
	switch n.Operator {
	case "+":
		return func(r []float64) float64 { return a(r) + b(r) }, nil
	case "-":
		return func(r []float64) float64 { return a(r) - b(r) }, nil
	case "*":
		return func(r []float64) float64 { return a(r) * b(r) }, nil
	}
	return func(r []float64) float64 { return a(r) / b(r) }, nil
}

// isArithmetic and isTruth say what something would be, to tell what is wrong with it.
func isArithmetic(n ast.Node) bool {
	switch n := n.(type) {
	case *ast.IntegerNode, *ast.FloatNode:
		return true
	case *ast.UnaryNode:
		return n.Operator == "-" || n.Operator == "+"
	case *ast.BinaryNode:
		return strings.Contains("+-*/", n.Operator)
	}
	return false
}

func isTruth(n ast.Node) bool {
	switch n := n.(type) {
	case *ast.BoolNode:
		return true
	case *ast.UnaryNode:
		return n.Operator == "not" || n.Operator == "!"
	case *ast.BinaryNode:
		switch n.Operator {
		case "<", "<=", ">", ">=", "==", "!=", "in":
			return true
		}
		return isConnective(n.Operator)
	}
	return false
}

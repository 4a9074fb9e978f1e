import ts from 'typescript'

/** One place where a text can be changed so that it still parses and means something else. */
export interface Site {
  readonly start: number
  readonly end: number
  readonly instead: string
  /** What was done, in words: '< to <='. */
  readonly what: string
}

/**
 * What is put in the place of an operator, of a call by its name, of a condition: the kinds that tools of this sort agree on
 * (stryker-mutator.io, "Supported mutators"), as far as the compiler lets them pass. Numbers and calls left out are our own kinds.
 */
const OPERATORS: Partial<Record<ts.SyntaxKind, readonly string[]>> = {
  [ts.SyntaxKind.LessThanToken]: ['<=', '>='],
  [ts.SyntaxKind.LessThanEqualsToken]: ['<', '>'],
  [ts.SyntaxKind.GreaterThanToken]: ['>=', '<='],
  [ts.SyntaxKind.GreaterThanEqualsToken]: ['>', '<'],
  [ts.SyntaxKind.EqualsEqualsEqualsToken]: ['!=='],
  [ts.SyntaxKind.ExclamationEqualsEqualsToken]: ['==='],
  [ts.SyntaxKind.PlusToken]: ['-'],
  [ts.SyntaxKind.MinusToken]: ['+'],
  [ts.SyntaxKind.AsteriskToken]: ['/'],
  [ts.SyntaxKind.SlashToken]: ['*'],
  [ts.SyntaxKind.PercentToken]: ['*'],
  [ts.SyntaxKind.AmpersandAmpersandToken]: ['||'],
  [ts.SyntaxKind.BarBarToken]: ['&&'],
  [ts.SyntaxKind.QuestionQuestionToken]: ['&&'],
  [ts.SyntaxKind.PlusEqualsToken]: ['-='],
  [ts.SyntaxKind.MinusEqualsToken]: ['+='],
}

const INSTEAD: ReadonlyMap<string, string> = new Map([
  ['min', 'max'],
  ['max', 'min'],
  ['some', 'every'],
  ['every', 'some'],
])
/** Calls that are left out of a chain. */
const LEFT_OUT = new Set(['filter', 'sort', 'toSorted', 'reverse', 'toReversed', 'slice', 'trim'])

/** Names of constants that only say how long or how much at most: a change of them is a change of pace. */
const PACE = /(_MS|_S|_BYTES|MOST\w*|EVERY\w*|PAGE|KEEP\w*|KEPT)$/

const isText = (node: ts.Node): boolean =>
  ts.isStringLiteralLike(node) ||
  ts.isTemplateExpression(node) ||
  (ts.isBinaryExpression(node) && (isText(node.left) || isText(node.right)))

/** Sentences for people, and the facts beside them, are judged by readers and not by tests. */
function isForPeople(node: ts.Node): boolean {
  for (let at: ts.Node | undefined = node; at; at = at.parent) {
    if (ts.isTemplateExpression(at) || ts.isThrowStatement(at)) return true
    if (ts.isStatement(at)) return false
  }
  return false
}

function isPace(node: ts.Node): boolean {
  for (let at: ts.Node | undefined = node; at && !ts.isBlock(at); at = at.parent)
    if (ts.isVariableDeclaration(at) && ts.isIdentifier(at.name) && PACE.test(at.name.text)) return true
  return false
}

/** Every place of a source text that can be changed. */
export function sitesOf(text: string, name: string): Site[] {
  const file = ts.createSourceFile(name, text, ts.ScriptTarget.Latest, true, ts.ScriptKind.TS)
  const found: Site[] = []
  const replace = (node: ts.Node, instead: string, what: string) =>
    found.push({ start: node.getStart(file), end: node.getEnd(), instead, what })

  const visit = (node: ts.Node): void => {
    if (ts.isImportDeclaration(node) || ts.isTypeNode(node) || ts.isInterfaceDeclaration(node)) return
    if (ts.isTypeAliasDeclaration(node)) return
    if (!isForPeople(node)) look(node)
    ts.forEachChild(node, visit)
  }

  const never = (condition: ts.Expression) => replace(condition, 'false', 'a condition that never holds')
  const always = (condition: ts.Expression) => replace(condition, 'true', 'a condition that always holds')

  const look = (node: ts.Node): void => {
    if (ts.isBinaryExpression(node)) {
      if (!isText(node.left) && !isText(node.right))
        for (const instead of OPERATORS[node.operatorToken.kind] ?? [])
          replace(node.operatorToken, instead, `${node.operatorToken.getText(file)} to ${instead}`)
    } else if (ts.isPrefixUnaryExpression(node)) {
      const { operator, operand } = node
      if (operator === ts.SyntaxKind.ExclamationToken || operator === ts.SyntaxKind.MinusToken)
        replace(node, operand.getText(file), `without ${operator === ts.SyntaxKind.MinusToken ? '-' : '!'}`)
    } else if (node.kind === ts.SyntaxKind.TrueKeyword) replace(node, 'false', 'true to false')
    else if (node.kind === ts.SyntaxKind.FalseKeyword) replace(node, 'true', 'false to true')
    else if (ts.isNumericLiteral(node) && !isPace(node)) {
      const value = Number(node.text)
      // A part of one is cut off where a count is wanted.
      const instead = String(Number.isInteger(value) && value < 10 ? value + 1 : value * 1.1)
      if (!ts.isPropertyAssignment(node.parent) || node.parent.name !== node)
        replace(node, instead, `${node.getText(file)} to ${instead}`)
    } else if (ts.isIfStatement(node)) {
      never(node.expression)
      always(node.expression)
    } else if (ts.isConditionalExpression(node)) {
      never(node.condition)
      always(node.condition)
    } else if (ts.isForStatement(node) && node.condition) never(node.condition)
    else if (ts.isWhileStatement(node)) never(node.expression)
    else if (ts.isArrayLiteralExpression(node) && node.elements.length > 0)
      replace(node, '[]', 'an empty list')
    else if (ts.isCallExpression(node) && ts.isPropertyAccessExpression(node.expression)) {
      const { expression: of, name } = node.expression
      const instead = INSTEAD.get(name.text)
      if (instead) replace(name, instead, `${name.text} to ${instead}`)
      else if (LEFT_OUT.has(name.text))
        found.push({ start: of.getEnd(), end: node.getEnd(), instead: '', what: `without .${name.text}()` })
    }
    if (ts.isExpressionStatement(node) && ts.isCallExpression(node.expression)) {
      const called = node.expression.expression.getText(file)
      if (called !== 'super') replace(node, ';', `without ${called}()`)
    }
  }

  visit(file)
  return found
}

/** A text with one place changed. */
export const changed = (text: string, { start, end, instead }: Site): string =>
  `${text.slice(0, start)}${instead}${text.slice(end)}`

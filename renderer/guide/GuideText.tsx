import { lexer, type Token, type Tokens } from 'marked'
import { createElement, Fragment, type ReactNode } from 'react'
import { type GuideName, isGuideName, pictureAt } from './pages.ts'

interface Props {
  text: string
  onGo: (name: GuideName) => void
}

/** A page of the guide as the window shows it: words, lists, tables and commands; no markup of it is ever run. */
export function GuideText({ text, onGo }: Props) {
  return <>{blocks(lexer(text), onGo)}</>
}

type Go = Props['onGo']

/** Parts one after the other, known by where they stand. */
const each = (tokens: readonly Token[] | undefined, show: (token: Token) => ReactNode): ReactNode =>
  createElement(Fragment, null, ...(tokens ?? []).map(show))

const blocks = (tokens: readonly Token[], go: Go): ReactNode => each(tokens, (token) => block(token, go))

function block(token: Token, go: Go): ReactNode {
  switch (token.type) {
    case 'heading':
      return <h3>{inline(token.tokens, go)}</h3>
    case 'paragraph':
      return <p>{inline(token.tokens, go)}</p>
    case 'code':
      return (
        <pre>
          <code>{(token as Tokens.Code).text}</code>
        </pre>
      )
    case 'list': {
      const { ordered, items } = token as Tokens.List
      const rows = each(items, (item) => <li>{blocks((item as Tokens.ListItem).tokens, go)}</li>)
      return ordered ? <ol>{rows}</ol> : <ul>{rows}</ul>
    }
    case 'table': {
      const { header, rows } = token as Tokens.Table
      return (
        <table>
          <thead>
            <tr>
              {header.map((cell) => (
                <th key={cell.text} scope="col">
                  {inline(cell.tokens, go)}
                </th>
              ))}
            </tr>
          </thead>
          <tbody>
            {rows.map((row) => (
              <tr key={row.map(({ text }) => text).join('|')}>
                {row.map((cell, i) => (
                  <td key={header[i]!.text}>{inline(cell.tokens, go)}</td>
                ))}
              </tr>
            ))}
          </tbody>
        </table>
      )
    }
    case 'text':
      return 'tokens' in token && token.tokens ? inline(token.tokens, go) : (token as Tokens.Text).text
    default:
      return null
  }
}

const inline = (tokens: readonly Token[] | undefined, go: Go): ReactNode =>
  each(tokens, (token) => {
    switch (token.type) {
      case 'strong':
        return <strong>{inline(token.tokens, go)}</strong>
      case 'em':
        return <em>{inline(token.tokens, go)}</em>
      case 'codespan':
        return <code>{(token as Tokens.Codespan).text}</code>
      case 'link': {
        const name = /^([a-z-]+)\.md$/.exec((token as Tokens.Link).href)?.[1] ?? ''
        if (!isGuideName(name)) return <span>{inline(token.tokens, go)}</span>
        return (
          <button type="button" className="guide-link" onClick={() => go(name)}>
            {inline(token.tokens, go)}
          </button>
        )
      }
      case 'image': {
        const { href, text } = token as Tokens.Image
        const at = pictureAt(href)
        return at === undefined ? text : <img className="guide-picture" src={at} alt={text} />
      }
      default:
        return 'text' in token ? (token.text as string) : null
    }
  })

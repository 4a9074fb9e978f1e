import type { MessagePortMain } from 'electron'
import type { StartVisa, VisaAnswer, VisaQuestion } from '../../drivers/link/visa-peer.ts'

/** What the core asks of the shell for VISA libraries. */
export type VisaWish = { kind: 'start-visa'; id: number } | { kind: 'end-visa'; id: number }

/** What the shell answers; with the channel comes the end of it. */
export type VisaNews = { kind: 'visa-channel'; id: number } | { kind: 'visa-ended'; id: number; code: number }

interface Held {
  readonly events: Parameters<StartVisa>[0]
  readonly early: VisaQuestion[]
  port: MessagePortMain | undefined
}

/** The core's side of the processes that the shell starts for VISA libraries. */
export class VisaChannels {
  readonly #wish: (wish: VisaWish) => void
  readonly #held = new Map<number, Held>()
  #count = 0

  constructor(wish: (wish: VisaWish) => void) {
    this.#wish = wish
  }

  readonly start: StartVisa = (events) => {
    const id = ++this.#count
    const held: Held = { events, early: [], port: undefined }
    this.#held.set(id, held)
    this.#wish({ kind: 'start-visa', id })
    return {
      pid: undefined,
      send: (question) => {
        if (held.port) held.port.postMessage(question)
        else held.early.push(question)
      },
      kill: () => this.#wish({ kind: 'end-visa', id }),
    }
  }

  hear(news: VisaNews, [port]: readonly MessagePortMain[]): void {
    const held = this.#held.get(news.id)
    if (!held) return
    if (news.kind === 'visa-ended') {
      this.#held.delete(news.id)
      held.events.ended(`ended by itself (${news.code})`)
      return
    }
    if (!port) return
    held.port = port
    port.on('message', ({ data }) => held.events.answer(data as VisaAnswer))
    port.start()
    for (const question of held.early.splice(0)) port.postMessage(question)
  }
}

import { isOnDesk, step } from '../client/taking-back.ts'
import { focusPlace, goBack, goTo, page } from '../page/page.ts'
import { PLACES } from '../page/places.ts'

const isTyping = (target: EventTarget | null): boolean =>
  target instanceof HTMLElement &&
  (target.isContentEditable || ['INPUT', 'TEXTAREA', 'SELECT'].includes(target.tagName)) &&
  !(target instanceof HTMLInputElement && ['checkbox', 'radio', 'range', 'button'].includes(target.type))

const QUESTION = '[role="alertdialog"], [role="dialog"]'

/** Ctrl+Z, Ctrl+Shift+Z or Ctrl+Y. */
const isTurn = (event: KeyboardEvent): boolean =>
  (event.ctrlKey || event.metaKey) && !event.altKey && ['z', 'y'].includes(event.key.toLowerCase())

/** The keys that work everywhere. Single keys never while typing, and not at all where a person turned them off. */
export function listenForKeys(): { dispose(): void } {
  const onKey = (event: KeyboardEvent) => {
    if (event.defaultPrevented) return
    if ((event.ctrlKey || event.metaKey) && event.key.toLowerCase() === 'k') {
      event.preventDefault()
      page.setState((old) => ({ commandsOpen: !old.commandsOpen }))
      return
    }
    if (isTurn(event)) {
      // In a question, and in a field of no form, the key stays the field's own.
      if (document.querySelector(QUESTION) || (isTyping(event.target) && !isOnDesk(document.activeElement)))
        return
      const again = event.shiftKey || event.key.toLowerCase() === 'y'
      if (step(again ? 'again' : 'back')) event.preventDefault()
      return
    }
    if (event.key === 'Escape') {
      if (isTyping(event.target)) return (event.target as HTMLElement).blur()
      goBack()
      return
    }
    if (event.ctrlKey || event.metaKey || event.altKey || isTyping(event.target)) return
    const state = page.getState()
    if (!state.singleKeys || state.commandsOpen || document.querySelector(QUESTION)) return
    const place = PLACES.find(({ key }) => key === event.key)
    if (place) {
      event.preventDefault()
      goTo(place.id)
      focusPlace()
      return
    }
    if (event.key === '?') {
      event.preventDefault()
      page.setState({ commandsOpen: true })
      return
    }
    const command = Object.values(state.commands)
      .flat()
      .find(({ keys }) => keys === event.key)
    if (command) {
      event.preventDefault()
      command.run()
    }
  }
  window.addEventListener('keydown', onKey)
  return { dispose: () => window.removeEventListener('keydown', onKey) }
}

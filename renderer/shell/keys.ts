import { goBack, goTo, page } from './page.ts'
import { PLACES } from './places.ts'

const isTyping = (target: EventTarget | null): boolean =>
  target instanceof HTMLElement &&
  (target.isContentEditable || ['INPUT', 'TEXTAREA', 'SELECT'].includes(target.tagName)) &&
  !(target instanceof HTMLInputElement && ['checkbox', 'radio', 'range', 'button'].includes(target.type))

/** The keys that work everywhere. Single keys never while typing, and not at all where a person turned them off. */
export function listenForKeys(): { dispose(): void } {
  const onKey = (event: KeyboardEvent) => {
    if (event.defaultPrevented) return
    if ((event.ctrlKey || event.metaKey) && event.key.toLowerCase() === 'k') {
      event.preventDefault()
      page.setState((old) => ({ commandsOpen: !old.commandsOpen }))
      return
    }
    if (event.key === 'Escape') {
      if (isTyping(event.target)) return (event.target as HTMLElement).blur()
      goBack()
      return
    }
    if (event.ctrlKey || event.metaKey || event.altKey || isTyping(event.target)) return
    const state = page.getState()
    if (
      !state.singleKeys ||
      state.commandsOpen ||
      document.querySelector('[role="alertdialog"], [role="dialog"]')
    )
      return
    const place = PLACES.find(({ key }) => key === event.key)
    if (place) {
      event.preventDefault()
      goTo(place.id)
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

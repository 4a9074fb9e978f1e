import { useRef } from 'react'
import { wordsOf } from '../client/ask.ts'
import { station } from '../client/connect.ts'
import { reuse } from '../client/reuse.ts'
import { useJoining, useStation } from '../client/state.ts'
import { page, say, usePage } from '../page/page.ts'
import { askPerson, usePerson } from '../page/person.ts'
import { type LineView, lineView } from '../page/shell.model.ts'
import { StateLine } from './StateLine.tsx'

const openCommands = () => page.setState({ commandsOpen: true })
const dismiss = () => page.setState({ said: null })

export function StateLineNow() {
  const joining = useJoining()
  const { onlooker, person } = usePerson()
  const said = usePage((now) => now.said)
  const clock = useStation((now) => now?.clock)
  const pace = useStation((now) => now?.pace ?? null)
  const minute = useStation((now) => now && Math.floor(now.utcUs / 60e6) * 60e6)
  const last = useRef<LineView>({ joining: '', facts: [] })
  // Drawn anew when a word of it changes, not with every state.
  const view = useStation((now) => {
    last.current = reuse(last.current, lineView(now, joining.words))
    return last.current
  })
  return (
    <StateLine
      view={view}
      joining={joining.state}
      said={said}
      clock={clock}
      pace={onlooker ? null : pace}
      onPace={(next) =>
        void station.station.pace({ pace: next }).then(
          ({ words }) => say(words),
          (fault) => say(wordsOf(fault), 'problem'),
        )
      }
      utcUs={minute}
      person={person?.name ?? null}
      onPerson={onlooker ? undefined : () => void askPerson()}
      onCommands={openCommands}
      onDismiss={dismiss}
    />
  )
}

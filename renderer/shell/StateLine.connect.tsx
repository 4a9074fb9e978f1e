import { useMemo } from 'react'
import { useJoining, useStation } from '../client/state.ts'
import { page, usePage } from './page.ts'
import { StateLine } from './StateLine.tsx'
import { lineView } from './shell.model.ts'

export function StateLineNow() {
  const state = useStation((now) => now)
  const joining = useJoining()
  const said = usePage((now) => now.said)
  const view = useMemo(() => lineView(state, joining.words), [state, joining.words])
  return (
    <StateLine
      view={view}
      joining={joining.state}
      said={said}
      clock={state?.clock}
      utcUs={state?.utcUs}
      onCommands={() => page.setState({ commandsOpen: true })}
      onDismiss={() => page.setState({ said: null })}
    />
  )
}

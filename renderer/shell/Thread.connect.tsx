import { useAnswer } from '../client/ask.ts'
import { station } from '../client/connect.ts'
import { useStation } from '../client/state.ts'
import { useBackStep } from '../page/hooks.ts'
import { page, usePage } from '../page/page.ts'
import { cellsAsHtml, cellsAsText } from '../parts/table.model.ts'
import { inputCells, needs, threadMeasured } from '../points/thread.model.ts'
import { reportNumbers } from '../text/report-numbers.ts'
import { copy, copyCells } from '../text/save.ts'
import { ThreadView } from './ThreadView.tsx'

export function ThreadDrawer() {
  const pulled = usePage((state) => state.thread)
  const session = pulled?.session ?? ''
  const key = pulled?.keys.at(-1)
  const need = key === undefined ? undefined : needs(key)
  const { data, problem } = useAnswer(
    // An answer may name its number otherwise than it was asked for.
    key === undefined
      ? undefined
      : async () => ({ of: key, thread: await station.points.thread({ session, key }) }),
    [session, key],
  )
  const points = useAnswer(need === 'points' ? () => station.points.list({ session }) : undefined, [
    session,
    need,
  ])
  const report = useAnswer(need === 'report' ? () => station.points.report({ session }) : undefined, [
    session,
    need,
  ])
  const channels = useStation((state) => (need === 'state' ? state?.channels : undefined))
  const close = () => page.setState({ thread: null })
  const back = () =>
    page.setState(({ thread }) => ({
      thread: thread && thread.keys.length > 1 ? { ...thread, keys: thread.keys.slice(0, -1) } : null,
    }))
  useBackStep(pulled !== null, back)
  if (!pulled) return null
  const thread = data?.of === key ? data?.thread : undefined
  return (
    <ThreadView
      thread={thread}
      measured={
        thread
          ? threadMeasured(thread, {
              numbers: reportNumbers(report.data),
              points: points.data ?? [],
              channels: channels ?? [],
            })
          : null
      }
      problem={problem}
      depth={pulled.keys.length}
      onBack={back}
      onClose={close}
      onPull={(next) => page.setState({ thread: { ...pulled, keys: [...pulled.keys, next] } })}
      onCopy={(text) => copy(text, text)}
      onCopyInputs={() => {
        const cells = thread ? inputCells(thread) : []
        copyCells(cellsAsText(cells), cellsAsHtml(cells, true), 'What went into it')
      }}
    />
  )
}

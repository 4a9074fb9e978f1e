import { useAnswer } from '../client/ask.ts'
import { station } from '../client/connect.ts'
import { useBackStep } from './hooks.ts'
import { page, say, usePage } from './page.ts'
import { ThreadView } from './ThreadView.tsx'

export function ThreadDrawer() {
  const pulled = usePage((state) => state.thread)
  const key = pulled?.keys.at(-1)
  const { data, problem } = useAnswer(
    pulled && key !== undefined ? () => station.points.thread({ session: pulled.session, key }) : undefined,
    [pulled?.session, key],
  )
  const close = () => page.setState({ thread: null })
  const back = () =>
    page.setState(({ thread }) => ({
      thread: thread && thread.keys.length > 1 ? { ...thread, keys: thread.keys.slice(0, -1) } : null,
    }))
  useBackStep(pulled !== null, back)
  if (!pulled) return null
  return (
    <ThreadView
      thread={data?.key === key ? data : undefined}
      problem={problem}
      depth={pulled.keys.length}
      onBack={back}
      onClose={close}
      onPull={(next) => page.setState({ thread: { ...pulled, keys: [...pulled.keys, next] } })}
      onCopy={(text) => {
        navigator.clipboard.writeText(text).then(
          () => say(`Copied: ${text}`),
          () => say('The browser does not let this page copy.', 'problem'),
        )
      }}
    />
  )
}

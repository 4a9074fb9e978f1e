import { useAct } from '../client/act.ts'
import { station } from '../client/connect.ts'
import { goTo, say } from '../page/page.ts'

/** Starts the lab in a box and goes on to the plan that comes with it. */
export function useLab(): { starting: boolean; problem: string | undefined; start: () => void } {
  const { problem, working, attempt } = useAct()
  const start = () =>
    void attempt(
      () => station.bench.startLab({}),
      ({ words }) => {
        say(words)
        goTo('plan')
      },
    )
  return { starting: working !== undefined, problem, start }
}

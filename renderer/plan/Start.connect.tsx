import { useEffect, useState } from 'react'
import { duration } from '../../app/base/times.ts'
import type { Plan } from '../../app/records/plan.ts'
import { useAct } from '../client/act.ts'
import { useAnswer } from '../client/ask.ts'
import { station } from '../client/connect.ts'
import { useRecords } from '../client/records.ts'
import { useStation } from '../client/state.ts'
import { goTo, say } from '../page/page.ts'
import { useMay, usePerson } from '../page/person.ts'
import { Button } from '../parts/Button.tsx'
import { NightStrip } from '../signs/NightStrip.tsx'
import { stripPicture } from '../signs/night.model.ts'
import { fixed } from '../text/numbers.ts'
import { clockTime } from '../text/times.ts'
import { stillTaken, takenOn } from './checks.model.ts'
import { ForetoldPanel } from './Foretold.tsx'
import { Preview } from './Preview.tsx'
import { previewMarks, startable } from './plan.model.ts'
import { planAct } from './plan.store.ts'
import { StartAsk } from './StartAsk.tsx'
import { EMPTY_START, jobOf } from './start.model.ts'
import { journeyWords } from './words.ts'

/** What would come of a plan, asked again a moment after the last change of it. */
function usePreview(plan: Plan | undefined) {
  const [asked, setAsked] = useState<Plan | undefined>(plan)
  const bench = useStation((state) => state?.versions.bench)
  const registerVersion = useStation((state) => state?.versions.register)
  useEffect(() => {
    const timer = setTimeout(() => setAsked(plan), 350)
    return () => clearTimeout(timer)
  }, [plan])
  const answer = useAnswer(
    asked ? (signal) => station.plan.preview({ plan: asked }, { signal }) : undefined,
    [asked, bench, registerVersion],
  )
  const foretold = useAnswer(
    asked ? (signal) => station.plan.foretell({ plan: asked }, { signal }) : undefined,
    [asked, bench, registerVersion],
  )
  return {
    preview: answer.data,
    problem: answer.problem,
    isComing: asked !== plan || answer.asking,
    // What was foretold of another plan is not shown for this one.
    foretold: asked !== plan || foretold.asking ? undefined : foretold.data,
    foretoldProblem: foretold.problem,
  }
}

/** Items of orders that hang on the bench, as they are named at the start. */
function useItemsOnBench(): string[] {
  const bench = useStation((state) => state?.versions.bench)
  const orders = useStation((state) => state?.versions.orders)
  const fill = useAnswer(() => station.orders.fill({}), [orders, bench])
  return (fill.data?.waiting ?? [])
    .filter(({ item }) => fill.data?.onBench.includes(item))
    .map(
      ({ name, serial, order, customer }) =>
        `${serial ? `${name}, ${serial}` : name}: order ${order}, ${customer}`,
    )
}

interface Props {
  plan: Plan | undefined
  running: boolean
  /** Saves what is not saved yet. */
  beforeStart: (() => Promise<void>) | undefined
}

export function StartNow({ plan, running, beforeStart }: Props) {
  const { preview, problem: previewProblem, isComing, foretold, foretoldProblem } = usePreview(plan)
  const items = useItemsOnBench()
  const [taken, setTaken] = useState<readonly string[]>([])
  const [open, setOpen] = useState(false)
  const [draft, setDraft] = useState(EMPTY_START)
  const { problem, attempt, refuse } = useAct()
  const who = usePerson().person?.name
  const may = useMay('operate')
  const bench = useStation((state) => state?.versions.bench)
  const nowUtcUs = useStation((state) => Math.floor((state?.utcUs ?? 0) / 60e6) * 60e6)
  const bathC = useStation((state) => state?.runner.bathC ?? null)
  const benchNow = useAnswer(() => station.bench.get(), [bench])
  const register = useRecords({ fluids: [benchNow.data?.bath?.fluid] })
  const accepted = stillTaken(preview, taken)
  const { ready, why } = isComing
    ? { ready: false, why: 'The preview is being worked out.' }
    : startable(preview, accepted)
  const fluid = register.data?.fluids[0]
  const start = () =>
    attempt(async () => {
      await beforeStart?.()
      await station.run.start({
        plan: plan!.id,
        name: draft.name,
        note: draft.note,
        accept: accepted,
        job: items.length > 0 ? null : jobOf(draft),
      })
      setOpen(false)
      say('The night has started.')
      goTo('watch')
    })
  return (
    <>
      <Preview
        preview={preview}
        working={isComing}
        problem={previewProblem}
        nowUtcUs={nowUtcUs}
        accepted={accepted}
        onAccept={(ids, on) => {
          const these = (preview?.checks ?? []).filter(({ id }) => ids.includes(id)).map(takenOn)
          setTaken((old) => [...old.filter((one) => !these.includes(one)), ...(on ? these : [])])
        }}
        onHelp={(help) => {
          if (help.kind === 'go') goTo(help.place)
          else if (help.kind === 'leave-out') planAct({ do: 'leave-out', celsius: help.celsius })
          else if (help.kind === 'window')
            planAct({ do: 'rule', field: 'windowS', text: String(help.windowS) })
          else planAct({ do: 'set', part: { maxWait: `${help.maxWaitS / 3600} h` } })
        }}
        strip={
          preview && (
            <NightStrip
              picture={stripPicture(
                previewMarks(preview, nowUtcUs),
                nowUtcUs,
                nowUtcUs + preview.totalS * 1e6,
                nowUtcUs,
              )}
              label="Preview of the night"
            />
          )
        }
      />
      {!running && may && (
        <div className="row">
          <Button
            look="main"
            disabled={!ready || !plan}
            onPress={() => {
              refuse(undefined)
              setOpen(true)
            }}
          >
            Start the night
          </Button>
          <span className="faint">{plan ? why : 'Something in the plan is not a number yet.'}</span>
        </div>
      )}
      {plan && preview && (
        <ForetoldPanel
          foretold={foretold}
          problem={foretoldProblem}
          celsius={[...new Set(plan.setpoints.map((s) => s.celsius))].toSorted((a, b) => a - b)}
        />
      )}
      {open && plan && preview && (
        <StartAsk
          who={who}
          draft={draft}
          problem={problem}
          onChange={setDraft}
          onStart={() => void start()}
          onClose={() => setOpen(false)}
          items={items}
          cautions={fluid?.cautions ?? []}
          words={[
            journeyWords(plan, benchNow.data?.bath, bathC),
            `It ends about ${clockTime(nowUtcUs + preview.totalS * 1e6)}, in ${duration(preview.totalS)}, and ${plan.atEnd === 'safe' ? `then goes to ${fixed(benchNow.data?.bath?.safeC ?? 25, 0)} °C` : 'then stays at its last setpoint'}.`,
          ]}
        />
      )}
    </>
  )
}

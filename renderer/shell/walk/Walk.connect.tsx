import { useEffect, useMemo, useRef, useState } from 'react'
import { benchStore } from '../../bench/bench.store.ts'
import { stationState, useStation } from '../../client/state.ts'
import { countWords, stepOf, type WalkFacts } from '../../desk/walk.model.ts'
import { stopWalk, useWalk, walkAct } from '../../desk/walk.store.ts'
import { useBackStep, useCommands } from '../../page/hooks.ts'
import { goTo, page, usePage } from '../../page/page.ts'
import { personStore } from '../../page/person.ts'
import { PLACES } from '../../page/places.ts'
import { pointsStore } from '../../points/points.store.ts'
import { findControl, findPlace, goToControl, questionOpen, visiblePart } from './find.ts'
import { placeNote } from './placing.ts'
import { WalkNote } from './WalkNote.tsx'

const LOOK_MS = 250
/** Below this the note has a row of its own. */
const NARROW = '(max-width: 860px), (max-height: 480px)'

/** What is so just now. `plansBefore`: the version of the plans when the step began. */
function factsNow(plansBefore: number): WalkFacts {
  const state = stationState.getState().now
  const { place, path, thread } = page.getState()
  const { person } = personStore.getState()
  const report = document.querySelector('[aria-label="Report"]')
  const channels = state?.channels ?? []
  return {
    place,
    signedIn: person !== null && person.practice !== true,
    recordOpen: place === 'register' && (path[1] ?? '') !== '',
    hasBench: (state?.bench ?? null) !== null,
    thermometerChosen: benchStore.getState().selected?.kind === 'channel',
    planSaved: (state?.versions.plans ?? 0) > plansBefore,
    stepsOpen: document.querySelector('[aria-label="Preview"] details[open]') !== null,
    started: !['idle', undefined].includes(state?.runner.phase),
    channels: channels.length,
    measuring: channels.filter(({ lastSeq }) => lastSeq !== null).length,
    threadOpen: thread !== null,
    water: state?.group.state ?? 'broken',
    waterWords: state?.group.words ?? '',
    points: state?.strip.filter(({ kind }) => kind === 'point').length ?? 0,
    fitChosen:
      pointsStore.getState().channel !== null &&
      document.querySelector('[aria-label="Coefficients"]') !== null,
    reportSeen: document.querySelector('iframe[title="Report preview"]') !== null,
    ended: state?.runner.phase === 'ended',
    signed: report?.getAttribute('data-signed') === 'true',
    certificateSaved: report?.getAttribute('data-saved') === 'true',
  }
}

/** The note of the walk and the ring about its control, while the walk goes on. */
export function WalkNow() {
  const walk = useWalk()
  const heard = useStation((state) => state !== undefined)
  if (walk.stage !== 'walking' || !heard) return null
  return <Walking />
}

function Walking() {
  const walk = useWalk()
  const step = stepOf(walk)
  const place = usePage((state) => state.place)
  const plansBefore = useRef(0)
  const [facts, setFacts] = useState(() => factsNow(0))
  const note = useRef<HTMLElement>(null)
  const ring = useRef<HTMLDivElement>(null)
  useBackStep(true, stopWalk)
  const elsewhere = step !== undefined && step.place !== null && step.place !== place
  const control = () => {
    if (!step) return undefined
    return elsewhere && step.place ? findPlace(step.place) : findControl(step.look)
  }
  const latest = useRef(control)
  latest.current = control

  useEffect(() => {
    note.current?.scrollTo(0, 0)
    plansBefore.current = stationState.getState().now?.versions.plans ?? 0
    if (!step) return
    const look = () => {
      const now = factsNow(plansBefore.current)
      if (step.done(now)) walkAct({ do: 'pass', id: step.id })
      else setFacts((old) => (JSON.stringify(old) === JSON.stringify(now) ? old : now))
    }
    look()
    const timer = setInterval(look, LOOK_MS)
    // What is undone again at once, a number folded up as soon as it was pulled, was done all the same.
    const ends = [page, benchStore, pointsStore].map((store) => store.subscribe(look))
    return () => {
      clearInterval(timer)
      for (const end of ends) end()
    }
  }, [step])

  useEffect(() => {
    const place = () => standBeside(note.current, ring.current, latest.current())
    place()
    const timer = setInterval(place, LOOK_MS)
    window.addEventListener('scroll', place, true)
    window.addEventListener('resize', place)
    return () => {
      clearInterval(timer)
      window.removeEventListener('scroll', place, true)
      window.removeEventListener('resize', place)
    }
  }, [])

  // Whoever began or took up the walk hears at once where it stands.
  useEffect(() => note.current?.focus({ preventScroll: true }), [])

  useCommands(
    'walk',
    useMemo(
      () => [
        {
          id: 'walk-note',
          words: 'Go to the note of the first walk',
          group: 'Window',
          keys: 'n',
          run: () => note.current?.focus(),
        },
      ],
      [],
    ),
  )

  const where = step?.place ? PLACES.find(({ id }) => id === step.place) : undefined
  return (
    <>
      <div className="walk-ring" ref={ring} aria-hidden="true" />
      {step ? (
        <WalkNote
          note={note}
          count={`${countWords(step)}${where ? `, ${where.name}` : ''}`}
          title={step.title}
          words={step.words(facts)}
          why={step.why}
          goWords={elsewhere && where ? `Go to ${where.name}` : 'Show me where'}
          onGo={() => {
            if (elsewhere && step.place) goTo(step.place)
            else {
              const found = control()
              if (found) goToControl(found)
            }
          }}
          onLeaveOut={() => walkAct({ do: 'pass', id: step.id })}
          onStop={stopWalk}
          stopWords="Stop for now"
        />
      ) : (
        <WalkNote
          note={note}
          count="The end"
          title="That was a whole job, from the people to the certificate"
          words="Your own bench takes the same way: set it up on Bench, and all else follows from it."
          why="The list of commands leads you through once more whenever you like."
          goWords={undefined}
          onGo={() => undefined}
          onLeaveOut={undefined}
          onStop={() => walkAct({ do: 'finish' })}
          stopWords="Put this away"
        />
      )}
    </>
  )
}

/** Moves note and ring to where the control is now. */
function standBeside(
  note: HTMLElement | null,
  ring: HTMLElement | null,
  control: HTMLElement | undefined,
): void {
  if (!note || !ring) return
  const line = document.querySelector('.state-line')?.getBoundingClientRect()
  const room = { left: 0, top: 0, width: window.innerWidth, height: line?.top ?? window.innerHeight }
  const box = control && visiblePart(control, room)
  const shown = box !== undefined && !questionOpen()
  ring.hidden = !shown
  if (shown) {
    ring.style.transform = `translate(${box.left - 5}px, ${box.top - 5}px)`
    ring.style.width = `${box.width + 10}px`
    ring.style.height = `${box.height + 10}px`
  }
  if (window.matchMedia(NARROW).matches) {
    note.style.transform = ''
    return
  }
  // Never before what calls for a person, nor before what is being used.
  const used = [...document.querySelectorAll('.question, .alarms, .said')].map((e) =>
    e.getBoundingClientRect(),
  )
  const focused = document.activeElement
  const place = document.getElementById('place')
  if (focused && focused !== document.body && focused !== place && !note.contains(focused))
    used.push(focused.getBoundingClientRect())
  const at = placeNote(
    { width: note.offsetWidth, height: note.offsetHeight },
    shown ? box : undefined,
    used,
    room,
  )
  note.style.transform = `translate(${Math.round(at.left)}px, ${Math.round(at.top)}px)`
}

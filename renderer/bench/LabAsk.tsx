import { Ask } from '../parts/Ask.tsx'
import { Choice } from '../parts/Choice.tsx'

export const LAB_SCENARIOS = [
  {
    id: 'demo',
    name: 'A night’s comparison',
    about: 'A reference, two industrial thermometers, a standard and a thermistor, with a plan that is ready',
  },
  { id: 'quiet', name: 'One thermometer', about: 'A reference and one thermometer, straight on the bridge' },
  { id: 'wide', name: '96 thermometers', about: 'Two bridges, eight scanners, some behind others' },
  { id: 'mixed', name: 'Every instrument', about: 'Three bridges and meters, two scanners, two baths' },
] as const
export type LabScenario = (typeof LAB_SCENARIOS)[number]['id']

interface Props {
  scenario: LabScenario
  onScenario: (scenario: LabScenario) => void
  onStart: () => void
  onClose: () => void
}

/** Which lab in a box, and what becomes of the bench that is in use. */
export function LabAsk({ scenario, onScenario, onStart, onClose }: Props) {
  return (
    <Ask title="Start the lab in a box" act="Start it" onAct={onStart} onClose={onClose}>
      <p>
        It runs on this computer and heats nothing. Its bench becomes the one in use; the links of the present
        bench are closed, and it stays among the other benches. A lab that ran before ends.
      </p>
      <Choice label="What it holds" value={scenario} options={LAB_SCENARIOS} onChange={onScenario} />
    </Ask>
  )
}

import type { ReactNode } from 'react'
import type { BathSpec, Bench } from '../../app/records/bench.ts'
import type { Fluid } from '../../app/records/register.ts'
import { NEW_RECORD } from '../desk/wanted-record.model.ts'
import { Button } from '../parts/Button.tsx'
import { Choice } from '../parts/Choice.tsx'
import { Field } from '../parts/Field.tsx'
import { NumberField } from '../parts/NumberField.tsx'
import { Problem } from '../parts/Problem.tsx'
import { CELSIUS_UNITS, fixed } from '../text/numbers.ts'
import { lacksFigures } from './bench.model.ts'

interface Props {
  bench: Bench
  fluids: readonly Fluid[]
  roleOf: (profile: string) => string
  problem: string | undefined
  /** Baths of the register. */
  entries: readonly { id: string; name: string }[]
  /** How many surveys its entry has, and the part that shows them. */
  surveyed: number
  surveys: ReactNode
  onLife: (entry: string) => void
  /** Enters a fluid that the list does not have; undefined for who may not. */
  onNewFluid: (() => void) | undefined
  onChange: (bath: BathSpec | undefined) => void
}

const HAND = '-'

/** What a fluid allows: its own range, and how far below its flash point setpoints stay. */
const fluidWords = ({ lowC, highC, flashPointC, marginK }: Fluid): string =>
  `For ${fixed(lowC, 0)} to ${fixed(highC, 0)} °C. ${
    flashPointC === undefined
      ? 'No flash point is entered.'
      : `Flash point ${fixed(flashPointC, 0)} °C: no setpoint above ${fixed(Math.min(highC, flashPointC - marginK), 0)} °C is sent.`
  }`

/** The bath and the limits that are held on every path. */
export function BathEditor({ bench, fluids, roleOf, problem, entries, ...props }: Props) {
  const { bath } = bench
  const { surveyed, surveys, onLife, onNewFluid, onChange } = props
  const only = fluids.length === 1 ? fluids[0] : undefined
  const controllers = bench.instruments.filter((i) => roleOf(i.profile) === 'bath')
  if (!bath)
    return (
      <section className="sheet" aria-label="Bath">
        <h2>Bath</h2>
        <p className="faint">
          A plan needs a bath. One without a link is set by hand: the station then asks for each setpoint.
        </p>
        <div>
          <Button
            onPress={() =>
              onChange({
                name: 'Bath',
                lowC: only ? only.lowC : 0,
                highC: only ? Math.min(only.highC, (only.flashPointC ?? Infinity) - only.marginK) : 100,
                safeC: 25,
                ...(only && { fluid: only.id }),
                uniformityMk: 0,
                stabilityMk: 0,
                ...(controllers[0] ? { instrument: controllers[0].id, name: controllers[0].name } : {}),
              })
            }
          >
            Add the bath
          </Button>
        </div>
      </section>
    )
  const set = (part: Partial<BathSpec>) => onChange({ ...bath, ...part })
  const without = (field: 'instrument' | 'fluid' | 'register') => {
    const { [field]: _gone, ...rest } = bath
    onChange(rest)
  }
  const fluid = fluids.find(({ id }) => id === bath.fluid)
  return (
    <section className="sheet" aria-label="Bath">
      <div className="row row-apart">
        <h2>Bath</h2>
        {bath.register !== undefined && (
          <Button look="quiet" onPress={() => onLife(bath.register!)}>
            Life of this bath
          </Button>
        )}
      </div>
      <Problem words={problem} />
      <div className="fields">
        <Field label="Name" value={bath.name} onChange={(name) => set({ name })} />
        <Choice
          label="Setpoint control"
          value={bath.instrument ?? HAND}
          options={[{ id: HAND, name: 'By hand' }, ...controllers.map((i) => ({ id: i.id, name: i.name }))]}
          onChange={(id) => (id === HAND ? without('instrument') : set({ instrument: id }))}
        />
        {entries.length > 0 && (
          <Choice
            label="Entry in the register"
            value={bath.register ?? HAND}
            options={[{ id: HAND, name: 'A new one, when the bench is saved' }, ...entries]}
            onChange={(id) => (id === HAND ? without('register') : set({ register: id }))}
          />
        )}
        <div className="field-wide">
          <Choice
            label="Fluid"
            value={bath.fluid ?? HAND}
            options={[
              { id: HAND, name: 'None named' },
              ...fluids.map((f) => ({ id: f.id, name: f.name, about: fluidWords(f) })),
              ...(onNewFluid
                ? [{ id: NEW_RECORD, name: 'New fluid', about: 'Entered in the Register' }]
                : []),
            ]}
            onChange={(id) => {
              if (id === NEW_RECORD) onNewFluid?.()
              else if (id === HAND) without('fluid')
              else set({ fluid: id })
            }}
          />
          {fluid && <p className="field-about">{fluidWords(fluid)}</p>}
        </div>
        <NumberField
          label="Never below"
          unit="°C"
          units={CELSIUS_UNITS}
          value={bath.lowC}
          onChange={(v) => v !== undefined && set({ lowC: v })}
        />
        <NumberField
          label="Never above"
          unit="°C"
          units={CELSIUS_UNITS}
          value={bath.highC}
          onChange={(v) => v !== undefined && set({ highC: v })}
        />
        <NumberField
          label="Safe setpoint"
          unit="°C"
          units={CELSIUS_UNITS}
          value={bath.safeC}
          onChange={(v) => v !== undefined && set({ safeC: v })}
          about="Where it is sent when something is wrong."
        />
        <NumberField
          label="Uniformity, standard uncertainty"
          unit="mK"
          zeroIsOpen
          value={bath.uniformityMk}
          onChange={(v) => v !== undefined && set({ uniformityMk: v })}
        />
        <NumberField
          label="Stability, standard uncertainty"
          unit="mK"
          zeroIsOpen
          value={bath.stabilityMk}
          onChange={(v) => v !== undefined && set({ stabilityMk: v })}
        />
      </div>
      {surveys}
      {lacksFigures(bath, surveyed) && (
        <p className="check check-warning">
          Uniformity and stability of the bath are most often the largest part of a budget, and one of them is
          not entered yet. Enter what your own survey of this bath found, as standard uncertainties.
        </p>
      )}
      {fluid && fluid.cautions.length > 0 && (
        <ul className="cautions">
          {fluid.cautions.map((c) => (
            <li key={c}>{c}</li>
          ))}
        </ul>
      )}
    </section>
  )
}

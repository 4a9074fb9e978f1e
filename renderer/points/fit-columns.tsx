import type { FitView } from '../../app/contract/studies.ts'
import type { PointChannel } from '../../app/records/point.ts'
import { Button } from '../parts/Button.tsx'
import { Digits } from '../parts/Digits.tsx'
import { useInGrid } from '../parts/in-grid.ts'
import type { Column } from '../parts/table.column.ts'
import { decimalsShown } from '../signs/digits.ts'
import { measured } from '../text/measured.ts'
import { fixed, significant } from '../text/numbers.ts'
import { cellOf, isLeftOut, type PullField } from './points.model.ts'

type Fitted = FitView['points'][number]

interface Given {
  fit: FitView
  /** What the channel gave to a point, for the digits of its signal. */
  used: (point: string) => PointChannel | undefined
  onPull: (point: string, field: PullField) => void
  onLeaveOut: (point: string) => void
  /** The point whose budget is unfolded. */
  open: string | null
  onOpen: (point: string | null) => void
}

const CONFORMITY: Column<Fitted> = {
  id: 'conformity',
  name: 'Conformity',
  left: true,
  value: ({ conformity }) => conformity,
}

/** Columns of a fit's points: what was measured, what the fit makes of it, and what can be done. */
export const fitColumns = (given: Given): Column<Fitted>[] => [
  ...signalColumns(given),
  ...resultColumns(given),
  ...actColumns(given),
]

function signalColumns({ fit, used, onPull }: Given): Column<Fitted>[] {
  const signals = fit.points.map((p) => {
    const at = used(p.point)
    return at ? cellOf(at, 'signal') : { u: null, unit: 'ohm' }
  })
  const signalOf = (p: Fitted) => signals[fit.points.indexOf(p)] ?? { u: null, unit: 'ohm' }
  const signalUnit = signals[0]?.unit ?? 'ohm'
  const signalDecimals = Math.max(0, ...signals.map(({ u, unit }) => decimalsShown(u, unit)))
  return [
    {
      id: 't90',
      name: 't90',
      unit: 'degC',
      heads: true,
      about: 'Temperature of the reference at this point',
      value: ({ celsius }) => celsius,
      show: ({ celsius }) => fixed(celsius, 3),
      measured: ({ celsius }) => measured(celsius, 'degC', null),
    },
    {
      id: 'signal',
      name: 'Signal at zero current',
      unit: signalUnit,
      about: 'As the fit takes it: less what self-heating adds, where that is known',
      value: ({ signal }) => signal,
      measured: (p) => measured(p.signal, signalUnit, signalOf(p).u, 2, 'scatter of the readings alone'),
      show: (p) => (
        <Digits
          bare
          value={p.signal}
          u={signalOf(p).u}
          unit={signalUnit}
          decimals={signalDecimals}
          label={`Signal at ${fixed(p.celsius, 1)} °C`}
          onPull={() => onPull(p.point, 'signal')}
        />
      ),
    },
  ]
}

const resultColumns = ({ fit, onPull }: Given): Column<Fitted>[] => [
  {
    id: 'residual',
    name: 'Residual',
    unit: 'mK',
    about: 'Fit less reference',
    value: ({ residualMk }) => residualMk,
    measured: ({ residualMk, expandedMk, k }) => ({
      value: residualMk,
      unit: 'mK',
      expanded: expandedMk,
      k,
    }),
    show: (p) => (
      <Digits
        bare
        value={p.residualMk}
        u={p.expandedMk / p.k}
        unit="mK"
        extra={1}
        label={`Residual at ${fixed(p.celsius, 1)} °C`}
        onPull={() => onPull(p.point, 'residualMk')}
      />
    ),
  },
  {
    id: 'left-out',
    name: 'Left out in turn',
    unit: 'mK',
    about: 'Residual when this point is not used in the fit',
    value: ({ leaveOneOutMk }) => leaveOneOutMk,
    show: ({ leaveOneOutMk }) => (leaveOneOutMk === null ? '–' : fixed(leaveOneOutMk, 1)),
  },
  {
    id: 'expanded',
    name: 'Expanded uncertainty',
    unit: 'mK',
    value: ({ expandedMk }) => expandedMk,
    measured: ({ expandedMk, k }) => ({
      value: expandedMk,
      unit: 'mK',
      expanded: null,
      k,
      digits: 2,
      about: `expanded uncertainty, k = ${fixed(k, 2)}`,
    }),
    show: (p) => <Expanded p={p} onPress={() => onPull(p.point, 'expandedMk')} />,
  },
  { id: 'k', name: 'k', value: ({ k }) => k, show: ({ k }) => fixed(k, 2) },
  ...(fit.points.some(({ conformity }) => conformity !== null) ? [CONFORMITY] : []),
]

const actColumns = ({ fit, used, onLeaveOut, open, onOpen }: Given): Column<Fitted>[] => [
  {
    id: 'acts',
    name: 'Leave out of this fit or take back',
    acts: true,
    value: () => null,
    show: (p) => {
      const own = isLeftOut(used(p.point)?.marks ?? [])
      // A point that is left out as a whole is taken back in the table of points.
      if (!p.included && !own) return null
      const words = own ? 'Take back' : 'Leave out'
      return (
        <Button
          right="operate"
          look="quiet"
          label={`${words} ${fit.name} at ${fixed(p.celsius, 1)} °C`}
          onPress={() => onLeaveOut(p.point)}
        >
          {words}
        </Button>
      )
    },
  },
  {
    id: 'budget',
    name: 'Budget',
    acts: true,
    value: () => null,
    show: (p) => (
      <Unfold
        open={open === p.point}
        celsius={p.celsius}
        onPress={() => onOpen(open === p.point ? null : p.point)}
      />
    ),
  },
]

/** Two significant digits, as the report prints it. */
function Expanded({ p, onPress }: { p: Fitted; onPress: () => void }) {
  const inGrid = useInGrid()
  const words = significant(p.expandedMk, 2)
  return (
    <button
      type="button"
      className="digits digits-pull"
      tabIndex={inGrid ? -1 : 0}
      title="Unfold how this number came about"
      aria-label={`Expanded uncertainty at ${fixed(p.celsius, 1)} °C: ${words} mK. Unfold`}
      onClick={onPress}
    >
      {words}
    </button>
  )
}

function Unfold({ open, celsius, onPress }: { open: boolean; celsius: number; onPress: () => void }) {
  const inGrid = useInGrid()
  const words = open ? 'Fold the budget' : 'Unfold the budget'
  return (
    <button
      type="button"
      className="unfold"
      tabIndex={inGrid ? -1 : 0}
      aria-expanded={open}
      aria-label={`${words} at ${fixed(celsius, 1)} °C`}
      onClick={onPress}
    >
      {words}
    </button>
  )
}

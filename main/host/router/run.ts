import { followHands } from '../lab-hands.ts'
import { measureItems } from '../orders/measure-items.ts'
import { nameOf, os } from './base.ts'

const said = (words: string) => ({ words })

export const planRoutes = {
  list: os.plan.list.handler(({ context }) => context.services.store.plans()),
  save: os.plan.save.handler(({ context, input }) => {
    context.services.store.savePlan(input.plan, nameOf(context), input.why)
    context.services.station.touched('plans')
    return said(`Plan "${input.plan.name}" is stored.`)
  }),
  remove: os.plan.remove.handler(({ context, input }) => {
    context.services.store.removePlan(input.id, nameOf(context), '')
    context.services.station.touched('plans')
    return said('The plan is taken from the list. Sessions that used it keep it.')
  }),
  preview: os.plan.preview.handler(({ context: { services }, input, signal }) =>
    services.previews.of(services.station.previewSource(input.plan), signal),
  ),
  foretell: os.plan.foretell.handler(({ context: { services }, input, signal }) =>
    services.previews.foretell(services.station.previewSource(input.plan), signal),
  ),
}

export const runRoutes = {
  start: os.run.start.handler(async ({ context, input }) => {
    const { services } = context
    const operator = nameOf(context)
    const { items: named, ...rest } = input
    const { station, orders } = services
    const ids = named ?? (station.bench ? orders.onBench(station.bench).map(({ id }) => id) : [])
    const session = await measureItems(services, ids, { ...rest, operator })
    return { session }
  }),
  record: os.run.record.handler(async ({ context, input }) => ({
    session: await context.services.station.record({ ...input, operator: nameOf(context) }),
  })),
  cells: os.run.cells.handler(async ({ context, input }) => ({
    session: await context.services.station.runCells({ ...input, operator: nameOf(context) }),
  })),
  pause: os.run.pause.handler(({ context, input }) => {
    context.services.station.pause(nameOf(context), input.why)
    return said('Paused. Measuring goes on; the bath stays where it is.')
  }),
  resume: os.run.resume.handler(({ context }) => {
    context.services.station.resume(nameOf(context))
    return said('The plan goes on.')
  }),
  takeNow: os.run.takeNow.handler(({ context, input }) => {
    context.services.station.takeNow(nameOf(context), input.why)
    return said('The point is being taken now and will say why.')
  }),
  skip: os.run.skip.handler(({ context, input }) => {
    context.services.station.skip(nameOf(context), input.why)
    return said('Going on to the next setpoint.')
  }),
  stop: os.run.stop.handler(({ context, input }) => {
    context.services.station.stop(nameOf(context), input.why)
    return said('Stopping: the bath goes to its safe setpoint and the record is closed.')
  }),
  answer: os.run.answer.handler(async ({ context, input }) => {
    await followHands(context.services, input.choice)
    context.services.station.answer(input.question, input.choice, nameOf(context))
    return said('Noted.')
  }),
  note: os.run.note.handler(({ context, input }) => {
    context.services.station.note(nameOf(context), input.words)
    return said('The note is in the record.')
  }),
}

import { blob, nameOf, os } from './base.ts'

export const validationRoutes = {
  state: os.validation.state.handler(({ context }) => context.services.validation.state()),
  run: os.validation.run.handler(async ({ context }) => ({
    words: await context.services.validation.run(nameOf(context)),
  })),
  accept: os.validation.accept.handler(async ({ context, input: { id, use } }) => ({
    words: await context.services.validation.accept(id, nameOf(context), use),
  })),
  paper: os.validation.paper.handler(async ({ context, input: { id, format } }) => {
    const { data, type } = await context.services.validation.paper(id, format)
    return blob(new Uint8Array(data), type)
  }),
}

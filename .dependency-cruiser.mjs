// The direction of imports, read as the picture: renderer -> app <- drivers <- main; simulator -> app.
const error = (rule) => ({ severity: 'error', ...rule })

export default {
  forbidden: [
    error({ name: 'no-circular', from: {}, to: { circular: true } }),
    error({
      name: 'app-is-pure',
      from: { path: '^app/' },
      to: { path: '^(main|renderer|drivers|simulator|tests)/' },
    }),
    error({ name: 'app-no-node', from: { path: '^app/' }, to: { dependencyTypes: ['core'] } }),
    error({
      name: 'renderer-knows-app-only',
      from: { path: '^renderer/' },
      to: { path: '^(main|drivers|simulator|tests)/' },
    }),
    error({ name: 'renderer-no-node', from: { path: '^renderer/' }, to: { dependencyTypes: ['core'] } }),
    // Words, signs and parts lie below; the shell and the job sheet stand on the places; no place knows another.
    error({
      name: 'place-knows-no-place',
      from: { path: '^renderer/(archive|bench|orders|plan|points|register|watch|wire)/' },
      to: {
        path: '^renderer/(archive|bench|orders|plan|points|register|watch|wire|sheet|shell)/',
        pathNot: '^renderer/$1/',
      },
    }),
    error({
      name: 'window-below-places',
      from: { path: '^renderer/(client|desk|live|page|parts|plots|signs|text)/' },
      to: { path: '^renderer/(archive|bench|orders|plan|points|register|watch|wire|sheet|shell)/' },
    }),
    error({
      name: 'sheet-below-shell',
      from: { path: '^renderer/sheet/' },
      to: { path: '^renderer/shell/' },
    }),
    error({
      name: 'drivers-know-app-only',
      from: { path: '^drivers/' },
      to: { path: '^(main|renderer|simulator|tests)/' },
    }),
    error({
      name: 'simulator-knows-app-only',
      from: { path: '^simulator/' },
      to: { path: '^(main|renderer|drivers|tests)/' },
    }),
    error({
      name: 'store-knows-app-only',
      from: { path: '^main/store/' },
      to: { path: '^(main/(station|study|host|desktop)|renderer|drivers|simulator|tests)/' },
    }),
    error({
      name: 'station-below-host',
      from: { path: '^main/station/' },
      to: { path: '^(main/(study|host|desktop)|renderer|simulator|tests)/' },
    }),
    error({
      name: 'study-below-host',
      from: { path: '^main/study/' },
      to: { path: '^(main/(host|desktop)|renderer|simulator|tests)/' },
    }),
    error({
      name: 'host-below-desktop',
      from: { path: '^main/host/' },
      to: { path: '^(main/desktop|renderer|tests)/' },
    }),
    error({
      name: 'electron-in-desktop-only',
      from: { pathNot: '^main/desktop/' },
      to: { path: '(^|node_modules/)electron(/|$)' },
    }),
    error({
      name: 'sqlite-in-store-only',
      from: { pathNot: '^main/store/' },
      to: { path: 'better-sqlite3' },
    }),
    error({
      name: 'serialport-in-drivers-only',
      from: { pathNot: '^(drivers/link|simulator/instruments)/' },
      to: { path: '@?serialport' },
    }),
    error({
      name: 'usb-and-foreign-libraries-in-links-only',
      from: { pathNot: '^drivers/link/' },
      to: { path: 'node_modules/(usb|koffi)/' },
    }),
    error({
      name: 'sockets-in-links-only',
      from: { path: '^(app|main|drivers)/', pathNot: '^(drivers/link|main/host)/' },
      to: { path: '^(node:)?net$', dependencyTypes: ['core'] },
    }),
    error({
      name: 'decimal-through-one-door',
      from: { pathNot: '^app/thermometry/decimal\\.ts$' },
      to: { path: 'decimal\\.js' },
    }),
    // Types alone may come from @types packages, which only the compiler resolves, and checks.
    error({
      name: 'resolvable',
      from: {},
      to: { couldNotResolve: true, dependencyTypesNot: ['type-only'] },
    }),
  ],
  options: {
    tsPreCompilationDeps: true,
    tsConfig: { fileName: 'tsconfig.node.json' },
    doNotFollow: { path: 'node_modules' },
    exclude: { path: '^dist/' },
    enhancedResolveOptions: {
      extensions: ['.ts', '.tsx', '.mjs', '.js', '.json'],
      exportsFields: ['exports'],
      conditionNames: ['import', 'node', 'default', 'types'],
    },
  },
}

/** Refusals of the ways in: window, programs, command line, by code. */
export const HOST_REFUSALS = {
  'too-many-tokens': 'There are {known} tokens already, which is more than programs can need.',
  'no-such-token': 'There is no token "{id}".',
  'no-backup-folder': 'No backup folder is set. Choose one in the settings first.',
  'session-of-another-bench':
    "Session {session} was measured at another bench and is not here. Name the laboratory''s database in the settings again to open it.",
  'no-such-order-id': 'There is no order "{id}".',
  'order-without-customer': 'The order names no customer that the register has. Enter the customer first.',
  'order-thermometer-unknown': 'The register has no thermometer "{thermometer}". Enter it with the order.',
  'item-measured-stays': 'An item that has been measured stays in its order. Put it back, then save.',
  'no-such-item': 'There is no item "{id}".',
  'people-known-already': 'This station knows people already. Sign in as one of them.',
  'sign-in-under-way': 'An attempt with another password is still under way here. Wait for its answer.',
  'first-password-missing': 'A new person needs a password to begin with. The person can change it.',
  'password-too-short':
    'A password has at least {least} characters. A few words that only you would put together are easily kept in mind.',
  'too-many-sign-in': 'Too many people sign in at this moment. Try again in a few seconds.',
  'practice-not-started':
    'The practice station could not be started: {why}. Start it in a terminal with "stillpoint practice".',
  'key-password-missing':
    'No password of the signing key is kept here. Type it, or sign without an electronic signature.',
  'no-signing-key': 'The station has no key to sign with. Take one in with: stillpoint key import FILE.p12',
  'validate-while-running':
    'A session is running. The program is validated when it has ended: the checks take a processor for about a minute.',
  'validation-runs-already': 'A validation runs already. Wait for its end.',
  'validation-not-passed': 'This validation has not passed, so it cannot be accepted.',
  'validation-of-another-program':
    'This validation is of another program than the one that runs here now. Validate again.',
  'program-changed-since-start':
    'The files of the program were changed since this station was started. Start it again, then validate.',
  'no-such-validation': 'There is no validation "{id}".',
  'token-may-not': 'The token {token} may not {right}. Ask whoever sees to the station.',
  'chain-has-gaps':
    'The chain to the SI has gaps. {gaps} Complete the register and take its records into this session, or sign knowing that traceability is not shown in full.',
  'findings-open':
    'Something speaks against the results, or was not checked. {findings} Decide on each (leave points out, measure again), or sign knowing it.',
  'order-number-taken': 'There is an order "{number}" already. An order\'\'s number is taken once.',
  'item-range-reversed': 'Item {i}: the upper end of the range lies below the lower. Nothing was taken in.',
  'item-of-another-kind':
    'Item {i}: the register has {serial} of {name} as another kind, {kind}. Nothing was taken in.',
  'item-twice': '{serial} is in the order twice. Nothing was taken in.',
  'no-signed-certificate': 'There is no signed certificate of this thermometer in this session.',
  'no-result-for-dcc': 'This item has no result that a digital certificate could state.',
  'sign-in-first': 'Sign in first: what is decided here stands in the record under your name.',
  'person-may-not': '{what} {person} may not. Ask somebody who may, or sign in as another person.',
  'window-only-looks': 'This window may only look. Open the operator address to change something.',
  'window-follows-too-much': 'This window already follows {streams} things. Close one first.',
  'too-many-windows': 'Too many windows follow the station. Close one, or try again in a minute.',
  'too-many-replays': 'Two replays run already. Try again when one of them has ended.',
  'try-while-in-use': 'A session uses this link. Try the instrument when the session has ended.',
  'no-such-profile': 'There is no profile "{profile}".',
  'no-such-scenario': 'The lab in a box has no scenario "{scenario}".',
  'lab-while-running': 'A session is running. The lab in a box can be started when it has ended.',
  'results-while-running': 'The session is still running. Its results are taken when it has ended.',
  'session-without-rwtp':
    'This session measured no R(WTP). A plan does so before and after where its water triple point check is on.',
  'thermometers-gone': 'None of the thermometers of this session is in the register any more.',
  'take-from-draft':
    'The report of this session is a draft. Sign it off first: a calibration rests on a certificate that was issued.',
  'gone-from-register': '{thermometer} is not in the register any more. Enter it first.',
  'no-plan-suits': 'No plan suits this bench; make one in the window.',
  'practise-while-running': 'A session is running. Sessions to practise on are recorded when it has ended.',
  'password-wrong-not-signed': 'This is not the password of {signer}. Nothing was signed.',
  'sign-record-not-whole': 'The record of this session is not whole, so its report cannot be signed. {words}',
  'own-work-not-signed':
    '{signer} measured this session, and by the settings of this station who measured does not sign. Ask another person who may.',
  'no-such-point': 'This session has no point "{point}".',
  'no-such-channel-at-point': 'There is no channel "{channel}" at point {point}.',
  'certificate-signed-already':
    'This certificate is signed already, as {number} by {who}. Work that is done anew makes a new one.',
  'chain-of-work-has-gaps':
    'The chain to the SI has gaps. {gaps} Complete the register, or sign knowing that traceability is not shown in full.',
  'no-chart-of': 'There is no "{input}" in the register to keep a chart of.',
  'onlookers-see-own-bench':
    'Onlookers see this bench alone. Who sees to the station can show them all, in the settings.',
  'no-mail-server':
    'No mail server is set up. Enter one in Register, Station, under alarms by e-mail; or deliver without mail.',
  'customer-without-mail':
    '{customer} has no e-mail address. Enter it with the customer in the order, or deliver without mail.',
  'deliver-draft': 'The report of this session is a draft. Sign it off first, then deliver.',
  'customer-without-address':
    'The customer {name} has no address. Enter it in the order, correct the session in Archive (Compare with, today), sign the new version, then deliver.',
  'line-not-a-number': 'Line {line}: {what} is not a number. Nothing was taken in.',
  'order-not-a-table': 'This is no table: {message}. Nothing was taken in.',
  'line-column-empty': 'Line {line}: the column "{what}" is empty. Nothing was taken in.',
  'fill-without-bench': 'There is no bench yet. Set one up on Bench, then fill its bath.',
  'fill-while-running': 'A session is running. Fill the bath when it has ended.',
  'sign-in-wrong': 'Name or password are not right.',
  'old-password-wrong': 'The old password is not right. Nothing was changed.',
  'nothing-to-unfold': 'There is nothing to unfold under {key}.',
  'sign-while-running': 'The session is still running. A report is signed when its session has ended.',
  'ledger-entry-no-save': 'Entry {n} of the ledger is no save of a record; there is nothing to take back.',
  'ledger-entry-first':
    'Entry {n} is the first that the register has of this record; there is no older one to go back to.',
  'ledger-entry-not-last':
    'The record was saved again later, by entry {n}. Take that one back first, or edit the record.',
  'certificate-target-unknown':
    'The register has no thermometer or resistor "{to}". Enter it first, or name another with --to.',
  'certificate-signature-broken': '{signature} Ask its issuer for another copy.',
  'no-such-ledger-entry': 'The ledger has no entry {n}.',
  'pace-of-the-wall': 'This station keeps the time of the wall. The practice station has a pace to choose.',
  'station-not-named': 'Name the station whose register is meant with --data FOLDER.',
  'nothing-to-deliver': 'This session has no certificate to deliver.',
  'nothing-for-customer': 'Nothing in this session is for {customer}. It has items of: {others}.',
  'serial-unknown':
    'The register has nothing with the serial number {serial}. Enter it first, or name the entry with --to ID.',
  'serial-of-several': 'Several entries have the serial number {serial}. Name the one with --to ID.',
  'not-validated':
    'By the settings of this station a report is signed only with a validated program, and version {version} as it is installed here has not been validated and accepted. See Register, Station, Validation.',
  'too-many-without-token': 'Too many calls without a token that holds. Wait a minute.',
  'token-missing':
    'Show a token that holds: "Authorization: Bearer ...". Whoever sees to the station makes one in Register, Station, Programs.',
  'programs-ask-too-much': 'Programs ask for too much at once. Ask again in a moment.',
  'nothing-at-path': 'There is nothing at {path}. See {openapi}.',
  'window-waits-already':
    'This window already waits for {own} reports or comparisons. Ask again when one of them has come.',
  'heavy-work-waits':
    'The station is working out reports and comparisons for others; {waiting} wait. Ask again in a minute.',
} as const

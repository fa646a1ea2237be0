# Las páginas del almacén de muchos equipos: `companion review serve --store`. Not checked by a native speaker.

pages-of-the-store = Revisión de todos los equipos
page-fleet = Equipos
page-worklist = Pendiente
page-login = Entrar
page-write = Firmar, corregir, comentar
login-name = Usuario
# pragma: allowlist nextline secret
login-password = Contraseña
log-in = Entrar
log-out = Salir
of-the-store = Lo que el almacén sabe de este trabajo
job-of-box = { $site }, { $box }.
back-to-the-job = ← Volver al trabajo
sent-signed_off = Firma
sent-amended = Corrección
sent-waiting = { $what } de { $by }, { $when }: en camino al equipo.
sent-taken = { $what } de { $by }, { $when }: en el registro del equipo.
sent-refused = { $what } de { $by }, { $when }: el equipo no la aceptó.
write-sign = Firmar
write-sign-note = Respondes del trabajo tal como está ahora. Se firma con tu propia clave, que abre tu contraseña, y pasa a formar parte del registro del equipo en el próximo contacto. Allí consta como tuya solo si el equipo conoce tu clave.
write-remark = Observación
write-correct = Corregir
write-correct-note = El evento mismo no cambia; tu corrección se añade al registro del equipo.
write-event = Número del evento erróneo
write-now = Lo que debería decir
write-why = Por qué
write-comment = Comentar
write-comment-note = El comentario se queda aquí y no va al equipo. No se puede retirar.
write-not-you = Firman, corrigen y comentan los supervisores.
fleet-told =
    { $count ->
        [one] { $count } equipo; por atender: { $troubled }.
       *[other] { $count } equipos; por atender: { $troubled }.
    }
fleet-site = Taller
fleet-box = Equipo
fleet-state = Estado
fleet-last-seen = Visto por última vez
fleet-outbox = Eventos sin enviar
fleet-disk = Disco libre
fleet-clock = Reloj
fleet-version = Versión
fleet-well = en contacto
fleet-look = atender
fleet-refused = NO ACEPTADO
fleet-retired = retirado
fleet-never = nunca
fleet-silent = nada desde hace dos días o más
fleet-little = poco espacio
fleet-not-told = no consta
fleet-not-vouched = nada lo garantiza
fleet-off = { $seconds } s de diferencia
fleet-right = en hora
fleet-waits =
    { $count ->
        [one] { $count } firma o corrección lo espera
       *[other] { $count } firmas o correcciones lo esperan
    }
fleet-ears = Oído
fleet-ears-work = { $ears }: { $work } s de trabajo por 1 s de habla
fleet-check-wrong = su comprobación encontró mal: { $what }
fleet-files = Ficheros publicados
fleet-files-none = ninguno
fleet-files-taken = versión { $version }
fleet-files-wait = la versión { $version } lo espera
fleet-files-refused = versión { $version } RECHAZADA
fleet-files-before = trabaja con la versión { $version }
trouble-refused = lo que envió no se aceptó
trouble-silent = sin noticias desde hace dos días o más
trouble-files = rechazó los ficheros publicados
trouble-wrong = su propia comprobación encontró algo mal
trouble-little = poco espacio en su disco
trouble-clock = su reloj va mal
trouble-slow = su oído es más lento que el habla
fleet-note = Lo que un equipo dice de sí mismo vale para cuando se le vio por última vez. NO ACEPTADO: lo que envió contradice lo que el almacén recibió antes; nada de ello entró.
work-boxes = Equipos por atender
work-changed = Suelos y soportes que cambiaron
work-broken_off = Interrumpidos
work-unsigned = Sin firmar
work-stood_out = Algo llamó la atención y nadie firmó
work-many = Más de { $count }.
work-counted =
    { $count ->
        [one] { $count } trabajo.
       *[other] { $count } trabajos.
    }
work-first = Los { $lines } más recientes:
work-none = Ninguno.
work-note = Los ensayos no se cuentan.
page-listened = Quién te escuchó
listened-told =
    { $count ->
        [0] Nadie escuchó aquí una grabación de tu voz.
        [one] { $count } vez alguien escuchó aquí una grabación de tu voz.
       *[other] { $count } veces alguien escuchó aquí una grabación de tu voz.
    }
listened-when = Cuándo
listened-who = Quién
listened-job = Trabajo
listened-event = Evento
listened-note = El sonido de los trabajos con tu nombre. Un informe guardado como fichero con su sonido cuenta como escuchado, toma por toma. Se muestran como mucho los últimos { $most }. El sonido que un equipo guardó y no envió no se oye aquí.
sound-not-sent = el sonido no se envió al almacén
names-replaced =
    { $count ->
        [one] En { $count } evento de este trabajo se sustituyeron nombres. Está probado que ocupa su lugar tal como lo firmó el equipo; lo que dice ahora es lo que cuenta el almacén.
       *[other] En { $count } eventos de este trabajo se sustituyeron nombres. Está probado que ocupan su lugar tal como los firmó el equipo; lo que dicen ahora es lo que cuenta el almacén.
    }
page-key = Tu clave
key-own = Firmas con la clave
key-note = Quien mira el registro de un equipo ve que una firma es tuya solo si el equipo conoce esta clave. Responde por ella un supervisor con PIN en el equipo: dile la clave y la compara.
key-known = conocida
key-not-known = no conocida
key-asked = pedido el { $when }; espera a un supervisor en el equipo
key-declined = no conocida:
key-ask = Pedirlo a un equipo

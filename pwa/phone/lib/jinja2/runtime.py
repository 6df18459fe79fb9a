"""Stands for `jinja2.runtime` on MicroPython: what the code that Jinja2's compiler writes calls at run time.

A test renders every template here and under Jinja2 itself and compares the bytes. On MicroPython a subclass
of `str` is second-class, so `Markup` only wraps one, and `escape` gives plain text ready for output.
"""


class TemplateRuntimeError(Exception):
    pass


class TemplateNotFound(Exception):
    pass


class UndefinedError(TemplateRuntimeError):
    pass


class Markup:
    """Text that is HTML already and must not be escaped again."""

    def __init__(self, text=""):
        self._text = str(text)

    def __html__(self):
        return self._text

    def __str__(self):
        return self._text

    def __len__(self):
        return len(self._text)


class Undefined:
    """A name that the page was not given. Any use is an error, as under `StrictUndefined`."""

    def __init__(self, hint=None, obj=None, name=None, exc=None):
        self._hint = hint or f"{name!r} is undefined"

    def _refuse(self, *_):
        raise UndefinedError(self._hint)

    __str__ = __iter__ = __len__ = __bool__ = __eq__ = __call__ = __getitem__ = _refuse


class _Missing:
    def __repr__(self):
        return "missing"


missing = _Missing()
Namespace = TemplateReference = None  # imported by every compiled template, used by none of ours


def identity(value):
    return value


def internalcode(function):
    return function


def escape(value):
    """The value as HTML text; what is markup already passes through."""
    if type(value) is str:
        text = value
    elif isinstance(value, Markup):
        return str(value)
    else:
        text = str(value)
    for plain, entity in (("&", "&amp;"), (">", "&gt;"), ("<", "&lt;"), ("'", "&#39;"), ('"', "&#34;")):
        if plain in text:
            text = text.replace(plain, entity)
    return text


def str_join(parts):
    return "".join([str(part) for part in parts])


def markup_join(parts):
    """What `~` gives: markup as soon as one part is markup."""
    parts = list(parts)
    if any(isinstance(part, Markup) for part in parts):
        return Markup("".join([escape(part) for part in parts]))
    return str_join(parts)


class LoopContext:
    """Yields (item, self) pairs; the attributes are what templates read as `loop.…`."""

    def __init__(self, iterable, undefined, recurse=None, depth0=0):
        self._items = list(iterable)
        self.length = len(self._items)
        self.index0 = -1

    def __iter__(self):
        for item in self._items:
            self.index0 += 1
            yield item, self

    @property
    def index(self):
        return self.index0 + 1

    @property
    def first(self):
        return self.index0 == 0

    @property
    def last(self):
        return self.index0 == self.length - 1


class Macro:
    def __init__(self, environment, function, name, arguments, kwargs, varargs, caller, autoescape):
        self._function, self._arguments, self._caller = function, arguments, caller

    def __call__(self, *args, **kwargs):
        given = list(args)
        for name in self._arguments[len(args) :]:
            given.append(kwargs.get(name, missing))
        if self._caller:
            given.append(kwargs.get("caller") or Undefined("No caller defined", name="caller"))
        return Markup(self._function(*given))


class _EvalContext:
    autoescape = True


class Context:
    """The names one template sees."""

    eval_ctx = _EvalContext()

    def __init__(self, parent, blocks):
        self.parent, self.vars = parent, {}
        self.exported_vars = set()
        self.blocks = {name: [block] for name, block in blocks.items()}

    def resolve_or_missing(self, key):
        if key in self.vars:
            return self.vars[key]
        return self.parent.get(key, missing)

    def get_all(self):
        names = dict(self.parent)
        names.update(self.vars)
        return names

    def call(self, function, *args, **kwargs):
        kwargs.pop("_block_vars", None)
        kwargs.pop("_loop_vars", None)
        return function(*args, **kwargs)


class Template:
    """A compiled template: a module with `root`, `blocks` and `name`."""

    def __init__(self, module):
        self._module = module
        self.blocks, self.root_render_func = module.blocks, module.root

    def new_context(self, names, shared=False, local=None):
        given = dict(names)
        given.update(local or {})
        return Context(given, self.blocks)

    def _get_default_module(self, context=None):
        own = self.new_context({})
        for _ in self.root_render_func(own):
            pass
        return {name: own.vars[name] for name in own.exported_vars}

    def render(self, names):
        return "".join([str(part) for part in self.root_render_func(self.new_context(names))])


class Environment:
    """Finds compiled templates and looks names up the way Jinja2 does: attribute first, then item."""

    undefined = Undefined

    def __init__(self):
        self._templates = {}
        self.filters = {
            "default": lambda value, other="": other if isinstance(value, Undefined) else value,
            "e": lambda value: Markup(escape(value)),
            "escape": lambda value: Markup(escape(value)),
            "first": lambda items: items[0],
            "format": lambda text, *values: text % values,
            "join": lambda _, items, between="": between.join([str(item) for item in items]),
            "last": lambda items: items[-1],
            "length": len,
            "lower": lambda text: text.lower(),
            "round": lambda value, digits=0: round(float(value), digits),
            "safe": Markup,
            "upper": lambda text: text.upper(),
        }
        self.tests = {
            "defined": lambda value: not isinstance(value, Undefined),
            "none": lambda value: value is None,
        }

    def concat(self, parts):
        return "".join([str(part) for part in parts])

    def getattr(self, thing, name):
        # The commonest case first, without the cost of a failing getattr.
        if isinstance(thing, dict) and name in thing and not hasattr(thing, name):
            return thing[name]
        try:
            return getattr(thing, name)
        except AttributeError:
            pass
        try:
            return thing[name]
        except (TypeError, KeyError, IndexError, AttributeError):
            return Undefined(name=name)

    def getitem(self, thing, key):
        try:
            return thing[key]
        except (TypeError, KeyError, IndexError, AttributeError):
            return self.getattr(thing, key) if isinstance(key, str) else Undefined(name=key)

    def get_template(self, name, parent=None):
        if name not in self._templates:
            module = "pages." + name.replace("/", "_").replace(".", "_").replace("-", "_")
            self._templates[name] = Template(__import__(module, None, None, ["*"]))
        return self._templates[name]


environment = Environment()

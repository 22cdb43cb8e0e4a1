"""What an address's query may narrow a list down by."""

from typing import Any

from rest_framework.request import Request

from darkroom_service.api.fields import Shape


class QueryShape(Shape):
    """The part of a query that these fields are; what else it says, such as where a page begins, is others' to read."""

    @classmethod
    def read_query(cls, request: Request) -> dict[str, Any]:
        """Return what a request's query says of these fields, or raise with every fault in it."""
        names = cls().fields.keys() & request.query_params.keys()
        return cls.read({name: request.query_params[name] for name in names})

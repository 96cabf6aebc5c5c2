"""The API's description (OpenAPI 3.1): what FastAPI knows of the routes, and what it does not: the types of the domain,
refusals, who may ask, an example for everything, and the messages of the live line."""

from rigd.server.description.describe import describe
from rigd.server.description.schemas import Schemas

__all__ = ["Schemas", "describe"]
